package skidrule

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
)

// Credentials say whom a client trusts and how it shows who it is. All are files, so that nothing secret stands on a command line.
// The zero value is a connection in plain text without a token, as a server on the same machine expects.
type Credentials struct {
	// TLS encrypts. The files for it encrypt as well; it alone trusts the authorities that the machine trusts.
	TLS bool
	// CA is a file of certificates in PEM of the authorities whose servers are trusted, in place of those of the machine.
	CA string
	// Certificate and Key are files in PEM with which the client shows who it is, where the server asks. Both or neither.
	Certificate, Key string
	// TokenFile holds one bearer token; lines that begin with # are comments. It is read with every call, so that a new token
	// counts at once.
	TokenFile string
}

// maxTokenFile is more than any file with one token holds, in bytes.
const maxTokenFile = 64 << 10

// DialOptions gives the options of a connection to a target. The error names the file that cannot be used; a token is not sent
// in plain text to another machine.
func (c Credentials) DialOptions(target string) ([]grpc.DialOption, error) {
	var options []grpc.DialOption
	secure := c.TLS || c.CA != "" || c.Certificate != "" || c.Key != ""
	if secure {
		config, err := c.config()
		if err != nil {
			return nil, err
		}
		options = append(options, grpc.WithTransportCredentials(credentials.NewTLS(config)))
	}
	if c.TokenFile == "" {
		return options, nil
	}
	if !secure && !onThisMachine(target) {
		return nil, fmt.Errorf("the token would travel to %s unencrypted; encrypt the connection", target)
	}
	if _, err := readToken(c.TokenFile); err != nil {
		return nil, err
	}
	return append(options, grpc.WithPerRPCCredentials(tokenFile{c.TokenFile, secure})), nil
}

func (c Credentials) config() (*tls.Config, error) {
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if c.CA != "" {
		data, err := os.ReadFile(c.CA)
		if err != nil {
			return nil, err
		}
		config.RootCAs = x509.NewCertPool()
		if !config.RootCAs.AppendCertsFromPEM(data) {
			return nil, fmt.Errorf("%s holds no certificate in PEM", c.CA)
		}
	}
	if (c.Certificate == "") != (c.Key == "") {
		return nil, errors.New("a client certificate needs its key, and a key its certificate; name both files")
	}
	if c.Certificate != "" {
		pair, err := tls.LoadX509KeyPair(c.Certificate, c.Key)
		if err != nil {
			return nil, fmt.Errorf("certificate %s with key %s: %w", c.Certificate, c.Key, err)
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// onThisMachine tells whether a target is reached without leaving the machine.
func onThisMachine(target string) bool {
	if strings.HasPrefix(target, "unix:") {
		return true
	}
	host, _, err := net.SplitHostPort(target[strings.LastIndex(target, "/")+1:])
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// readToken reads the one token of a file. Errors never hold what stands in it.
func readToken(path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, maxTokenFile))
	if err != nil {
		return "", err
	}
	token := ""
	for i, line := range strings.Split(string(data), "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || line[0] == '#':
		case strings.ContainsFunc(line, func(r rune) bool { return r <= ' ' || r > '~' }):
			return "", fmt.Errorf("%s:%d: a token has no blanks and only ASCII characters", path, i+1)
		case token != "":
			return "", fmt.Errorf("%s:%d: a second token; keep the one to send", path, i+1)
		default:
			token = line
		}
	}
	if token == "" {
		return "", fmt.Errorf("%s holds no token", path)
	}
	return token, nil
}

// tokenFile sends the token of a file with every call.
type tokenFile struct {
	path   string
	secure bool
}

// GetRequestMetadata gives the header with the token.
func (t tokenFile) GetRequestMetadata(context.Context, ...string) (map[string]string, error) {
	token, err := readToken(t.path)
	if err != nil {
		return nil, err
	}
	return map[string]string{"authorization": "Bearer " + token}, nil
}

// RequireTransportSecurity keeps the token off connections that are not encrypted, but for those within one machine.
func (t tokenFile) RequireTransportSecurity() bool { return t.secure }
