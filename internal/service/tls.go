package service

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"os"
)

// Certificates are the certificate of a server, and where a file names them, the authorities whose clients may call. The
// files are read again when they change; where the new ones do not fit together the ones before hold.
type Certificates struct{ *kept[*tls.Config] }

// LoadCertificates reads the files. clientCA may be empty: then clients need no certificate.
func LoadCertificates(certificate, key, clientCA string, log *slog.Logger) (*Certificates, error) {
	if certificate == "" || key == "" {
		return nil, errors.New("encryption needs a certificate and its key")
	}
	k, err := keep("certificates", log, func() (*tls.Config, error) { return readCertificates(certificate, key, clientCA) }, certificate, key, clientCA)
	return &Certificates{k}, err
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

func readCertificates(certificate, key, clientCA string) (*tls.Config, error) {
	pair, err := tls.LoadX509KeyPair(certificate, key)
	if err != nil {
		return nil, fmt.Errorf("certificate %s with key %s: %w", certificate, key, err)
	}
	config := &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, Certificates: []tls.Certificate{pair}}
	if clientCA == "" {
		return config, nil
	}
	data, err := os.ReadFile(clientCA)
	if err != nil {
		return nil, err
	}
	config.ClientCAs = x509.NewCertPool()
	if !config.ClientCAs.AppendCertsFromPEM(data) {
		return nil, fmt.Errorf("%s holds no certificate", clientCA)
	}
	config.ClientAuth = tls.RequireAndVerifyClientCert
	return config, nil
}
