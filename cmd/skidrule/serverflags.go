package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
)

// serverFlags are the flags of verbs that may ask a server.
type serverFlags struct {
	server      string
	credentials skidrule.Credentials
}

// add adds the flags to a verb; what says what its server is for.
func (f *serverFlags) add(cmd *cobra.Command, what string) {
	flags := cmd.Flags()
	flags.StringVar(&f.server, "server", "", "`address` of a server "+what)
	flags.BoolVar(&f.credentials.TLS, "server-tls", false, "encrypt the way to the server and trust the authorities of this machine")
	flags.StringVar(&f.credentials.CA, "server-ca", "", "`FILE` with the authorities in PEM that the server's certificate must come from; encrypts")
	flags.StringVar(&f.credentials.Certificate, "client-cert", "", "`FILE` with the certificate in PEM by which the server knows this caller; encrypts")
	flags.StringVar(&f.credentials.Key, "client-key", "", "`FILE` with the key of the certificate")
	cmd.PreRunE = func(*cobra.Command, []string) error { return f.check() }
	flags.StringVar(&f.credentials.TokenFile, "token-file", "", "`FILE` with the bearer token that the server wants")
}

// check refuses flags about a server where none is named.
func (f *serverFlags) check() error {
	if f.server == "" && f.credentials != (skidrule.Credentials{}) {
		return errors.New("--server-tls, --server-ca, --client-cert, --client-key and --token-file are about a server; name it with --server")
	}
	return nil
}

// dial prepares a client for the server that is named.
func (f *serverFlags) dial() (*skidrule.Client, error) {
	options, err := f.credentials.DialOptions(f.server)
	if err != nil {
		return nil, fmt.Errorf("--server %s: %w", f.server, plainError(err))
	}
	return skidrule.Dial(f.server, options...)
}
