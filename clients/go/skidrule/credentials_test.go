package skidrule_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/clients/go/skidrule"
)

func TestCredentialsThatCannotBeUsed(t *testing.T) {
	dir := t.TempDir()
	file := func(name, content string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(content), 0o600))
		return path
	}
	const secret = "0123456789abcdef0123456789abcdef"
	token := file("token", "# of the test\n"+secret+"\n")
	for name, c := range map[string]struct {
		credentials  skidrule.Credentials
		target, want string
	}{
		"no such authorities":           {skidrule.Credentials{CA: filepath.Join(dir, "none")}, "127.0.0.1:1", "none"},
		"authorities of noise":          {skidrule.Credentials{CA: token}, "127.0.0.1:1", "no certificate in PEM"},
		"a certificate without a key":   {skidrule.Credentials{Certificate: token}, "127.0.0.1:1", "name both files"},
		"a key without a certificate":   {skidrule.Credentials{Key: token}, "127.0.0.1:1", "name both files"},
		"a certificate of noise":        {skidrule.Credentials{Certificate: token, Key: token}, "127.0.0.1:1", "certificate"},
		"no such token":                 {skidrule.Credentials{TokenFile: filepath.Join(dir, "none")}, "127.0.0.1:1", "none"},
		"an empty file":                 {skidrule.Credentials{TokenFile: file("empty", "# nothing\n")}, "127.0.0.1:1", "holds no token"},
		"two tokens":                    {skidrule.Credentials{TokenFile: file("two", secret+"\n"+secret+"\n")}, "127.0.0.1:1", ":2: a second token"},
		"a token of two words":          {skidrule.Credentials{TokenFile: file("words", secret+" "+secret)}, "127.0.0.1:1", "has no blanks"},
		"a token in plain text":         {skidrule.Credentials{TokenFile: token}, "plans.example:7433", "unencrypted"},
		"a token to an address alone":   {skidrule.Credentials{TokenFile: token}, "192.0.2.1:7433", "unencrypted"},
		"a name that only looks so":     {skidrule.Credentials{TokenFile: token}, "localhost.example:7433", "unencrypted"},
		"a target without a port":       {skidrule.Credentials{TokenFile: token}, "plans", "unencrypted"},
		"a target of another resolver":  {skidrule.Credentials{TokenFile: token}, "dns:///plans.example:7433", "unencrypted"},
		"a target by another authority": {skidrule.Credentials{TokenFile: token}, "dns://192.0.2.1/plans.example:7433", "unencrypted"},
	} {
		_, err := c.credentials.DialOptions(c.target)
		require.ErrorContains(t, err, c.want, name)
		assert.NotContains(t, err.Error(), secret, name)
	}
	for _, target := range []string{"127.0.0.1:7433", "[::1]:7433", "localhost:7433", "dns:///localhost:7433", "unix:skidrule.sock"} {
		options, err := skidrule.Credentials{TokenFile: token}.DialOptions(target)
		require.NoError(t, err, target)
		assert.Len(t, options, 1)
	}
	options, err := skidrule.Credentials{TLS: true, TokenFile: token}.DialOptions("plans.example:7433")
	require.NoError(t, err)
	assert.Len(t, options, 2)
	options, err = skidrule.Credentials{}.DialOptions("plans.example:7433")
	require.NoError(t, err)
	assert.Empty(t, options)
}
