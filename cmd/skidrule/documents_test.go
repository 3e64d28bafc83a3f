package main

import (
	"errors"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// root of the checkout, from here.
const root = "../.."

var shown = regexp.MustCompile("(?m)^\\$ go run \\./cmd/skidrule (.+)\n((?s:.*?))^```$")

// What README.md shows is what the command prints: each part between lines of … stands in the output, in order.
func TestReadmeShowsWhatIsPrinted(t *testing.T) {
	t.Parallel()
	blocks := shown.FindAllStringSubmatch(read(t, root+"/README.md"), -1)
	require.NotEmpty(t, blocks)
	for _, b := range blocks {
		cmd := exec.Command(built, strings.Fields(b[1])...)
		cmd.Dir = root
		out, err := cmd.Output()
		var exit *exec.ExitError
		if err != nil && !errors.As(err, &exit) {
			require.NoError(t, err)
		}
		rest := string(out)
		for part := range strings.SplitSeq(b[2], "…\n") {
			at := strings.Index(rest, part)
			require.GreaterOrEqual(t, at, 0, "README.md shows\n%s\nand %s prints\n%s", part, b[1], out)
			rest = rest[at+len(part):]
		}
	}
}

// readmeDesign is the design file that README.md shows.
func readmeDesign(t *testing.T) string {
	t.Helper()
	m := regexp.MustCompile("(?s)```yaml\n(skidrule: v1\n.*?)```").FindStringSubmatch(read(t, root+"/README.md"))
	require.NotNil(t, m)
	return m[1]
}

// The design that README.md shows can be checked.
func TestReadmeDesign(t *testing.T) {
	r := command(t, []byte(readmeDesign(t)), "check", "-")
	assert.Equal(t, exitFindings, r.code, r.stderr)
	assert.Contains(t, r.stdout, "backflow/two-independent-barriers")
}

// The table of DEVELOPERS.md names every package.
func TestDevelopersKnowEveryPackage(t *testing.T) {
	text := read(t, root+"/DEVELOPERS.md")
	entries, err := os.ReadDir(root + "/internal")
	require.NoError(t, err)
	var missing []string
	for _, e := range entries {
		if e.IsDir() && !strings.Contains(text, "| `internal/"+e.Name()+"` |") {
			missing = append(missing, e.Name())
		}
	}
	assert.Empty(t, missing, "packages without a row in DEVELOPERS.md")
}
