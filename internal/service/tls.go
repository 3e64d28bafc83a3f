package service

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"sync"
)

// Certificates are the certificate of a server, and where ClientCA names a file, the authorities whose clients may call. The
// files are read again when they change; where the new ones do not fit together the ones before hold.
type Certificates struct {
	Certificate, Key, ClientCA string

	mu     sync.Mutex
	files  watched
	config *tls.Config
	log    *slog.Logger
}

// LoadCertificates reads the files. clientCA may be empty: then clients need no certificate.
func LoadCertificates(certificate, key, clientCA string, log *slog.Logger) (*Certificates, error) {
	if certificate == "" || key == "" {
		return nil, errors.New("encryption needs a certificate and its key")
	}
	c := &Certificates{Certificate: certificate, Key: key, ClientCA: clientCA, log: log}
	c.files.paths = []string{certificate, key}
	if clientCA != "" {
		c.files.paths = append(c.files.paths, clientCA)
	}
	c.files.changed()
	var err error
	c.config, err = c.read()
	return c, err
}

// Config is for listeners. Each handshake takes the files as they are then.
func (c *Certificates) Config() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"},
		GetConfigForClient: func(*tls.ClientHelloInfo) (*tls.Config, error) { return c.current(), nil },
		// A listener for HTTP asks for a certificate before the first handshake.
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return &c.current().Certificates[0], nil },
	}
}

func (c *Certificates) current() *tls.Config {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.files.changed() {
		config, err := c.read()
		if err != nil {
			c.log.Error("the certificates stay as they were", slog.String("error", err.Error()))
		} else {
			c.config = config
			c.log.Info("certificates read again")
		}
	}
	return c.config
}

func (c *Certificates) read() (*tls.Config, error) {
	pair, err := tls.LoadX509KeyPair(c.Certificate, c.Key)
	if err != nil {
		return nil, fmt.Errorf("certificate %s with key %s: %w", c.Certificate, c.Key, err)
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, Certificates: []tls.Certificate{pair}}
	if c.ClientCA == "" {
		return config, nil
	}
	data, err := os.ReadFile(c.ClientCA)
	if err != nil {
		return nil, err
	}
	config.ClientCAs = x509.NewCertPool()
	if !config.ClientCAs.AppendCertsFromPEM(data) {
		return nil, fmt.Errorf("%s holds no certificate", c.ClientCA)
	}
	config.ClientAuth = tls.RequireAndVerifyClientCert
	return config, nil
}
