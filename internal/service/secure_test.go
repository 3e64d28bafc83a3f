package service_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var (
	goodToken  = strings.Repeat("a1", 20)
	otherToken = strings.Repeat("b2", 20)
	silent     = slog.New(slog.DiscardHandler)
)

// authority makes certificates for 127.0.0.1 that last an hour.
type authority struct {
	t    *testing.T
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
}

func newAuthority(t *testing.T, name string) *authority {
	a := &authority{t: t}
	var err error
	a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-time.Minute),
		NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &a.key.PublicKey, a.key)
	require.NoError(t, err)
	a.cert, err = x509.ParseCertificate(der)
	require.NoError(t, err)
	return a
}

func (a *authority) pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

func (a *authority) pem() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
}

func (a *authority) issue(name string) (certificate, key []byte) {
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(a.t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-time.Minute),
		NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}
	der, err := x509.CreateCertificate(rand.Reader, template, a.cert, &k.PublicKey, a.key)
	require.NoError(a.t, err)
	private, err := x509.MarshalECPrivateKey(k)
	require.NoError(a.t, err)
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: private})
}

func (a *authority) client(name string) tls.Certificate {
	pair, err := tls.X509KeyPair(a.issue(name))
	require.NoError(a.t, err)
	return pair
}

func put(t *testing.T, path string, data []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(path, data, 0o600))
}

// serveTLS starts a server on a free port of this machine.
func serveTLS(t *testing.T, o service.Options) string {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- service.New(smallEngine(t), o).Serve(ctx, listener) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-done)
	})
	return listener.Addr().String()
}

func TestCertificates(t *testing.T) {
	dir := t.TempDir()
	certificate, key, clients := filepath.Join(dir, "c.pem"), filepath.Join(dir, "k.pem"), filepath.Join(dir, "ca.pem")
	first, second, callers := newAuthority(t, "first"), newAuthority(t, "second"), newAuthority(t, "callers")
	c, k := first.issue("server")
	put(t, certificate, c)
	put(t, key, k)
	put(t, clients, callers.pem())
	files, err := service.LoadCertificates(certificate, key, clients, silent)
	require.NoError(t, err)
	o := options()
	o.TLS = files.Config()
	address, web := serveTLS(t, o), serveWeb(t, smallEngine(t), o)
	ask := func(config *tls.Config) error {
		client, err := skidrule.Dial(address, grpc.WithTransportCredentials(credentials.NewTLS(config)), grpc.WithDisableServiceConfig())
		require.NoError(t, err)
		defer client.Close()
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		_, err = client.Check(ctx, &skidrulev1.CheckDesignRequest{Design: design(t)})
		return err
	}
	get := func(config *tls.Config) error {
		client := &http.Client{Transport: &http.Transport{TLSClientConfig: config}}
		r, err := client.Get(web + "/healthz")
		if err == nil {
			r.Body.Close()
		}
		return err
	}
	mine := []tls.Certificate{callers.client("a caller")}
	assert.NoError(t, ask(&tls.Config{RootCAs: first.pool(), Certificates: mine}))
	assert.NoError(t, get(&tls.Config{RootCAs: first.pool(), Certificates: mine}))
	for name, config := range map[string]*tls.Config{
		"a server of another authority":    {RootCAs: second.pool(), Certificates: mine},
		"no client certificate":            {RootCAs: first.pool()},
		"a client of another authority":    {RootCAs: first.pool(), Certificates: []tls.Certificate{second.client("a stranger")}},
		"an old version of the encryption": {RootCAs: first.pool(), Certificates: mine, MaxVersion: tls.VersionTLS11},
	} {
		assert.Equal(t, codes.Unavailable, status.Code(ask(config)), name)
		assert.Error(t, get(config), name)
	}

	// A broken file changes nothing; a good one counts for the next connection.
	time.Sleep(1100 * time.Millisecond)
	put(t, key, []byte("torn"))
	assert.NoError(t, ask(&tls.Config{RootCAs: first.pool(), Certificates: mine}))
	time.Sleep(1100 * time.Millisecond)
	c, k = second.issue("server")
	put(t, certificate, c)
	put(t, key, k)
	assert.NoError(t, ask(&tls.Config{RootCAs: second.pool(), Certificates: mine}))
	assert.Error(t, ask(&tls.Config{RootCAs: first.pool(), Certificates: mine}))
}

func TestCertificateFilesThatCannotBeUsed(t *testing.T) {
	dir := t.TempDir()
	a := newAuthority(t, "a")
	c, k := a.issue("server")
	_, foreign := a.issue("other")
	for name, files := range map[string][3][]byte{
		"a foreign key":        {c, foreign, nil},
		"no key":               {c, []byte("x"), nil},
		"authorities of noise": {c, k, []byte("x")},
	} {
		paths := [3]string{}
		for i, data := range files {
			if data != nil {
				paths[i] = filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+string(rune('0'+i)))
				put(t, paths[i], data)
			}
		}
		_, err := service.LoadCertificates(paths[0], paths[1], paths[2], silent)
		assert.Error(t, err, name)
	}
	_, err := service.LoadCertificates("", "", "", silent)
	assert.Error(t, err)
}

// bearer sends a token in plain text, which only a test may.
type bearer string

func (b bearer) GetRequestMetadata(context.Context, ...string) (map[string]string, error) {
	return map[string]string{"authorization": string(b)}, nil
}

func (bearer) RequireTransportSecurity() bool { return false }

func TestTokens(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens")
	put(t, path, []byte("# callers of the test\n\n"+goodToken+"\n"))
	tokens, err := service.LoadTokens(path, silent)
	require.NoError(t, err)
	o := options()
	o.Tokens = tokens
	conn, web := serve(t, smallEngine(t), o), serveWeb(t, smallEngine(t), o)
	ask := func(header string) (codes.Code, codes.Code, int) {
		var with []grpc.CallOption
		headers := map[string]string{}
		if header != "" {
			with = append(with, grpc.PerRPCCredentials(bearer(header)))
			headers["Authorization"] = header
		}
		_, err := skidrulev1.NewRuleServiceClient(conn).ListRules(context.Background(), &skidrulev1.ListRulesRequest{}, with...)
		stream, streamErr := grpc_reflection_v1.NewServerReflectionClient(conn).ServerReflectionInfo(context.Background(), with...)
		if streamErr == nil {
			_ = stream.Send(&grpc_reflection_v1.ServerReflectionRequest{MessageRequest: &grpc_reflection_v1.ServerReflectionRequest_ListServices{}})
			_, streamErr = stream.Recv()
		}
		answer, _ := post(t, web, "/skidrule.v1.RuleService/ListRules", "{}", headers)
		return status.Code(err), status.Code(streamErr), answer.StatusCode
	}
	for _, header := range []string{"", "Bearer", "Bearer ", "Bearer " + otherToken, "Bearer " + goodToken[1:], "Basic " + goodToken, goodToken, "Bearer # callers of the test"} {
		single, stream, page := ask(header)
		assert.Equal(t, codes.Unauthenticated, single, header)
		assert.Equal(t, codes.Unauthenticated, stream, header)
		assert.Equal(t, http.StatusUnauthorized, page, header)
	}
	single, stream, page := ask("Bearer " + goodToken)
	assert.Equal(t, codes.OK, single)
	assert.Equal(t, codes.OK, stream)
	assert.Equal(t, http.StatusOK, page)
	_, err = grpc_health_v1.NewHealthClient(conn).Check(context.Background(), &grpc_health_v1.HealthCheckRequest{})
	assert.NoError(t, err, "health needs no token")

	time.Sleep(1100 * time.Millisecond)
	put(t, path, []byte("short\n"))
	single, _, _ = ask("Bearer " + goodToken)
	assert.Equal(t, codes.OK, single, "a file that cannot be used changes nothing")
	time.Sleep(1100 * time.Millisecond)
	put(t, path, []byte(otherToken))
	single, _, _ = ask("Bearer " + goodToken)
	assert.Equal(t, codes.Unauthenticated, single)
	single, _, _ = ask("Bearer " + otherToken)
	assert.Equal(t, codes.OK, single)
}

func TestTokenFilesThatCannotBeUsed(t *testing.T) {
	for text, want := range map[string]string{
		"":                                   "holds no token",
		"# nothing\n":                        "holds no token",
		"\ntoo-short":                        ":2: a token of 9 characters",
		strings.Repeat(goodToken+"\n", 1001): "more than 1000 tokens",
	} {
		path := filepath.Join(t.TempDir(), "tokens")
		put(t, path, []byte(text))
		_, err := service.LoadTokens(path, silent)
		require.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "too-short")
	}
	_, err := service.LoadTokens(filepath.Join(t.TempDir(), "none"), silent)
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.NotErrorIs(t, err, io.EOF)
}
