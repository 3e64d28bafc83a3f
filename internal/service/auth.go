package service

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"strings"
)

// minTokenBytes is the shortest token that a file may hold: 128 bits written in hexadecimal are 32 characters; common
// practice, no source.
const minTokenBytes = 32

// maxTokens is the most tokens that a file may hold; each call is compared with all of them.
const maxTokens = 1000

// errNoToken stands for a call without a token that counts. Why it does not is not told.
var errNoToken = errors.New("no valid bearer token")

// Tokens are the bearer tokens that may call: one a line of a file, with # before comments. The file is read again when it
// changes; where it cannot be read the tokens before hold. A nil Tokens lets everybody call.
type Tokens struct{ *kept[[][sha256.Size]byte] }

// LoadTokens reads a file of tokens. The error names the line that is wrong, not what stands in it.
func LoadTokens(path string, log *slog.Logger) (*Tokens, error) {
	k, err := keep("tokens", log, func() ([][sha256.Size]byte, error) { return readTokens(path) }, path)
	return &Tokens{k}, err
}

func readTokens(path string) ([][sha256.Size]byte, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var out [][sha256.Size]byte
	for i, line := range strings.Split(string(data), "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || line[0] == '#':
			continue
		case len(line) < minTokenBytes:
			return nil, fmt.Errorf("%s:%d: a token of %d characters; use at least %d", path, i+1, len(line), minTokenBytes)
		case len(out) == maxTokens:
			return nil, fmt.Errorf("%s:%d: more than %d tokens", path, i+1, maxTokens)
		}
		out = append(out, sha256.Sum256([]byte(line)))
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%s holds no token; write one a line", path)
	}
	return out, nil
}

// allow gives errNoToken unless the header holds a token of the file or the method needs none. It compares with every token, in a
// time that does not depend on how much of one is right.
func (t *Tokens) allow(method, header string) error {
	if t == nil || open(method) {
		return nil
	}
	scheme, token, _ := strings.Cut(header, " ")
	given := sha256.Sum256([]byte(strings.TrimSpace(token)))
	found := 0
	for _, h := range t.current() {
		found |= subtle.ConstantTimeCompare(h[:], given[:])
	}
	if !strings.EqualFold(scheme, "Bearer") || found != 1 {
		return errNoToken
	}
	return nil
}

// open are the methods that need no token: whoever routes calls must be able to ask whether the server lives.
func open(method string) bool { return strings.HasPrefix(method, "/grpc.health.v1.Health/") }
