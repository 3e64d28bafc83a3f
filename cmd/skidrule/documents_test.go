package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
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

// The table of DEVELOPERS.md names every package, and each says in its own comment what it holds.
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
	bare, err := exec.Command("go", "list", "-f", `{{if and .GoFiles (not .Doc)}}{{.ImportPath}}{{end}}`, "github.com/skidrule/skidrule/...").Output()
	require.NoError(t, err)
	for _, pkg := range strings.Fields(string(bare)) {
		assert.Contains(t, pkg, "/proto/", "only what is generated need not say what it holds")
	}
	rows := regexp.MustCompile("(?m)^\\| `((?:internal|cmd|clients)/[a-z/]+)`").FindAllStringSubmatch(text, -1)
	require.NotEmpty(t, rows)
	for _, row := range rows {
		assert.DirExists(t, filepath.Join(root, row[1]), "DEVELOPERS.md has a row for what is not there")
	}
}

// Commands of README.md that print nothing there still run: on the designs of the checkout, and on the one that it shows.
func TestReadmeCommandsRun(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "loop.yaml"), []byte(readmeDesign(t)), 0o644))
	designs, err := filepath.Abs(root + "/testdata")
	require.NoError(t, err)
	require.NoError(t, os.Symlink(designs, filepath.Join(folder, "testdata")))
	tried := 0
	for _, m := range regexp.MustCompile(`(?m)^\$ skidrule (.+)$`).FindAllStringSubmatch(read(t, root+"/README.md"), -1) {
		if strings.HasPrefix(m[1], "serve") || strings.Contains(m[1], "--server ") {
			continue // the tests of the server start one
		}
		cmd := exec.Command(built, strings.Fields(m[1])...)
		cmd.Dir = folder
		out, err := cmd.CombinedOutput()
		assert.NoError(t, err, "%s: %s", m[1], out)
		tried++
	}
	assert.Positive(t, tried)
	for _, made := range []string{"states.csv", "pump.svg", "injector.svg"} {
		assert.FileExists(t, filepath.Join(folder, made))
	}
}

// The table of README.md names every verb and no other, and the flags in a row are flags of its verb.
func TestReadmeVerbs(t *testing.T) {
	t.Parallel()
	verbs := map[string]*cobra.Command{}
	top := newRoot(&surroundings{})
	top.InitDefaultCompletionCmd()
	for _, c := range top.Commands() {
		if !c.Hidden {
			verbs[c.Name()] = c
		}
	}
	flag := regexp.MustCompile(`--([a-z-]+)`)
	named, flags := map[string]bool{}, 0
	for _, row := range regexp.MustCompile("(?m)^\\| (`[a-z].*?) \\| (.*) \\|$").FindAllStringSubmatch(read(t, root+"/README.md"), -1) {
		for _, m := range regexp.MustCompile("`([a-z]+)").FindAllStringSubmatch(row[1], -1) {
			named[m[1]] = true
			c := verbs[m[1]]
			if !assert.NotNil(t, c, "README.md has the verb %q, the command has not", m[1]) {
				continue
			}
			for _, f := range flag.FindAllStringSubmatch(row[0], -1) {
				assert.NotNil(t, c.Flag(f[1]), "%s has no flag --%s", m[1], f[1])
				flags++
			}
		}
	}
	assert.Positive(t, flags)
	for name := range verbs {
		assert.True(t, named[name] || name == "help", "README.md has no row for the verb %q", name)
	}
}

// Every flag that README.md names anywhere is a flag of some verb.
func TestReadmeFlags(t *testing.T) {
	t.Parallel()
	var verbs []*cobra.Command
	for _, c := range newRoot(&surroundings{}).Commands() {
		c.InitDefaultHelpFlag()
		verbs = append(append(verbs, c), c.Commands()...)
	}
	flags := regexp.MustCompile(`[ \x60]--([a-z][a-z-]*)`).FindAllStringSubmatch(read(t, root+"/README.md"), -1)
	require.NotEmpty(t, flags)
	for _, m := range flags {
		has := slices.ContainsFunc(verbs, func(c *cobra.Command) bool { return c.Flag(m[1]) != nil })
		assert.True(t, has, "no verb has the flag --%s", m[1])
	}
}

// The site file that README.md shows is read, rules and parts of one's own with it.
func TestReadmeSite(t *testing.T) {
	t.Parallel()
	m := regexp.MustCompile("(?s)```yaml\n(skidrule_project: v1\n.*?)```").FindStringSubmatch(read(t, root+"/README.md"))
	require.NotNil(t, m)
	folder := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(folder, "rules"), os.DirFS("testdata/rules")))
	require.NoError(t, os.Mkdir(filepath.Join(folder, "parts"), 0o755))
	const part = "skidrule_catalogue: v1\nentries:\n  own/check: {title: Invented check valve, data: {check_valve: {}}}\n"
	require.NoError(t, os.WriteFile(filepath.Join(folder, "parts", "own.yaml"), []byte(part), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "skidrule-project.yaml"), []byte(m[1]), 0o644))
	design := filepath.Join(folder, "loop.yaml")
	require.NoError(t, os.WriteFile(design, []byte(readmeDesign(t)), 0o644))
	r := command(t, nil, "check", design)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "there is no such baseline; `check --write-baseline "+filepath.Join(folder, "known.txt")+"` begins one")
	r = command(t, nil, "check", design, "--write-baseline", filepath.Join(folder, "known.txt"))
	assert.NotEqual(t, exitUnusable, r.code, r.stderr)
	assert.Contains(t, r.stdout, "house/two-barriers", "rules of the site's own are asked")
	assert.Contains(t, read(t, filepath.Join(folder, "known.txt")), "loop.yaml\tbackflow/two-independent-barriers\tcomponents.OG-1")
}

// Links of the documents lead to files of the checkout.
func TestDocumentsLinks(t *testing.T) {
	t.Parallel()
	looked := 0
	for _, document := range []string{"README.md", "DEVELOPERS.md", "testdata/README.md", "clients/ci/README.md", "clients/graphml/README.md", "clients/python/README.md", "clients/typescript/README.md"} {
		for _, m := range regexp.MustCompile(`\]\(([^)#\s]+)[^)]*\)`).FindAllStringSubmatch(read(t, root+"/"+document), -1) {
			if !strings.Contains(m[1], "://") {
				_, err := os.Stat(filepath.Join(root, filepath.Dir(document), m[1]))
				assert.NoError(t, err, document)
				looked++
			}
		}
	}
	assert.Positive(t, looked)
}
