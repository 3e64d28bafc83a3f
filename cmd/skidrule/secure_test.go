package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// certificates are files of an authority of the test and of what it issues for 127.0.0.1, good for an hour.
type certificates struct{ ca, cert, key string }

func newCertificates(t *testing.T, name string) certificates {
	t.Helper()
	folder := t.TempDir()
	save := func(file, kind string, data []byte) string {
		path := filepath.Join(folder, file)
		require.NoError(t, os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: data}), 0o600))
		return path
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	ca := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-time.Minute), NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	own, err := x509.CreateCertificate(rand.Reader, ca, ca, &key.PublicKey, key)
	require.NoError(t, err)
	leafKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	leaf := &x509.Certificate{SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: name + " leaf"}, NotBefore: ca.NotBefore, NotAfter: ca.NotAfter,
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}
	der, err := x509.CreateCertificate(rand.Reader, leaf, ca, &leafKey.PublicKey, key)
	require.NoError(t, err)
	private, err := x509.MarshalECPrivateKey(leafKey)
	require.NoError(t, err)
	return certificates{save("ca.pem", "CERTIFICATE", own), save("cert.pem", "CERTIFICATE", der), save("key.pem", "EC PRIVATE KEY", private)}
}

// Every verb that asks a server reaches one that wants encryption, a certificate of the caller and a token, and none of them does
// when one is missing or of somebody else.
func TestVerbsAskServersThatAreSecured(t *testing.T) {
	t.Parallel()
	server, callers, strangers := newCertificates(t, "server"), newCertificates(t, "callers"), newCertificates(t, "strangers")
	good, bad := strings.Repeat("a1", 20), strings.Repeat("b2", 20)
	token, otherToken := write(t, "token", "# mine\n"+good+"\n"), write(t, "other", bad+"\n")
	address, stop := startServer(t, "--tls-cert", server.cert, "--tls-key", server.key, "--client-ca", callers.ca, "--tokens", token)
	defer stop(os.Interrupt)
	with := func(ca, cert, key, token string) []string {
		args := []string{"--server", address}
		for flag, value := range map[string]string{"--server-ca": ca, "--client-cert": cert, "--client-key": key, "--token-file": token} {
			if value != "" {
				args = append(args, flag, value)
			}
		}
		return args
	}
	for _, args := range [][]string{
		{"check", "testdata/designs/clean.yaml", "--format", "json"},
		{"check", "testdata/designs/broken.yaml", "--stated-only"},
		{"compare", "testdata/designs/clean.yaml", "testdata/designs/broken.yaml"},
		{"draw", "testdata/designs/clean.yaml"},
		{"solve", "testdata/designs/clean.yaml", "--no-margins"},
		{"rules", "list"},
		{"explain", "backflow/two-independent-barriers"},
		{"calc", "water-properties", "temperature=15 degC", "pressure=1 bar(a)"},
	} {
		alone, asked := command(t, nil, args...), command(t, nil, append(args, with(server.ca, callers.cert, callers.key, token)...)...)
		assert.Equal(t, alone, asked, "%v", args)
		assert.NotEqual(t, exitUnusable, alone.code, "%v: %s", args, alone.stderr)
	}
	for _, c := range []struct {
		name string
		with []string
		want string
	}{
		{"no token", with(server.ca, callers.cert, callers.key, ""), "valid bearer token; --token-file"},
		{"another token", with(server.ca, callers.cert, callers.key, otherToken), "valid bearer token; --token-file"},
		{"no certificate", with(server.ca, "", "", token), "no "},
		{"a stranger's certificate", with(server.ca, strangers.cert, strangers.key, token), "no "},
		{"another authority", with(strangers.ca, callers.cert, callers.key, token), "--server-ca names the authorities"},
		{"the authorities of the machine", append(with("", callers.cert, callers.key, token), "--server-tls"), "--server-ca names the authorities"},
		{"plain text", with("", "", "", ""), "no server answers"},
	} {
		r := command(t, nil, append([]string{"check", "testdata/designs/clean.yaml"}, c.with...)...)
		assert.Equal(t, exitUnusable, r.code, c.name)
		assert.Contains(t, r.stderr, c.want, c.name)
		assert.NotContains(t, r.stderr, good[:8], c.name)
		assert.NotContains(t, r.stderr, bad[:8], c.name)
	}
	refuses(t, nil, map[string][]string{
		"name it with --server":     {"check", "testdata/designs/clean.yaml", "--server-ca", server.ca},
		"name both files":           {"rules", "list", "--server", address, "--client-cert", callers.cert},
		"unencrypted":               {"check", "testdata/designs/clean.yaml", "--server", "192.0.2.1:7433", "--token-file", token},
		"no such file or directory": {"check", "testdata/designs/clean.yaml", "--server", address, "--server-ca", "nowhere.pem"},
	})
}
