package designfile_test

import (
	"bytes"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
)

// Each of these must be refused, or read, within bounded time and memory.
func TestReadHostileFiles(t *testing.T) {
	const head = "skidrule: v1\n"
	numbered := func(n int, format string) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	for name, c := range map[string]struct{ text, want string }{
		"too long":         {head + strings.Repeat("#", designfile.DefaultMaxBytes), "the limit is 16777216"},
		"brackets":         {strings.Repeat("[", 8<<20), "more than 500000 elements"},
		"braces":           {head + "a: " + strings.Repeat("{a: ", 3<<20), "more than 500000 elements"},
		"few brackets":     {strings.Repeat("[", 400_000), "max depth"},
		"dashes":           {strings.Repeat("- ", 400_000), "max depth"},
		"question marks":   {strings.Repeat("? ", 400_000), "max depth"},
		"indentation":      {head + deepIndent(500), "max depth"},
		"JSON braces":      {`{"skidrule": ` + strings.Repeat(`{"a":`, 200_000), "nested too deeply"},
		"anchors":          {strings.Repeat("&a ", 5<<20), "more than 500000 elements"},
		"few anchors":      {strings.Repeat("&a ", 200_000), "not readable as YAML"},
		"alias bomb":       {head + "name: &a [x,x,x]\nrevision: &b [*a,*a,*a]\nbasis: {a: &c [*b,*b,*b]}\n", "an anchor"},
		"megabyte scalar":  {head + "name: " + strings.Repeat("x", 15<<20), "a value of 15728640 bytes; the limit is 65536"},
		"megabyte quoted":  {head + "name: \"" + strings.Repeat(`x\n`, 4<<20) + "\"", "the limit is 65536"},
		"megabyte block":   {head + "name: |\n" + strings.Repeat(" x\n", 4<<20), "the limit is 65536"},
		"megabyte key":     {head + strings.Repeat("k", 12<<20) + ": 1\n", "the limit is 65536"},
		"documents":        {strings.Repeat("---\n", 3<<20), "more than 500000 elements"},
		"few documents":    {head + strings.Repeat("---\n", 50_000), "a second document"},
		"directives":       {strings.Repeat("%TAG ! a\n", 1<<18), "not readable as YAML"},
		"unknown keys":     {head + numbered(200_000, "key%d: 1\n"), "199900 more problems are not listed"},
		"misspelt keys":    {head + "components:\n" + numbered(100_000, "  k%d: {maxpresure: 1 bar}\n"), "99900 more problems"},
		"bad numbers":      {head + "components:\n" + numbered(60_000, "  k%d: {max_pressure: 1 bra}\n"), "more problems"},
		"long path":        {head + "assumptions: [{path: " + strings.Repeat("a.", 30_000) + "}]\n", "is no path"},
		"NUL bytes":        {head + strings.Repeat("\x00", 12<<20), "a NUL byte"},
		"junk":             {strings.Repeat("\x9f\x00\xe2", 4<<20), "not readable as binary protobuf"},
		"text protobuf":    {strings.Repeat("components{}", 1<<20), "more than 500000 elements"},
		"comments":         {head + strings.Repeat("#\n", 6<<20), ""},
		"empty lines":      {head + strings.Repeat("\n", 12<<20), ""},
		"spaces":           {head + strings.Repeat(" ", 12<<20), ""},
		"white JSON":       {"{\"skidrule\"" + strings.Repeat(" ", 12<<20) + ": \"v1\"}", ""},
		"one long line":    {"{\"skidrule\": \"v1\", \"name\": \"°\"" + strings.Repeat(", \"x\": 1", 160_000) + "}", "more problems"},
		"one long flow":    {"{skidrule: v1, name: °" + strings.Repeat(", x: 1", 160_000) + "}", "more problems"},
		"flow with spaces": {head + "basis: {" + strings.Repeat(" \n", 4<<20) + "}", ""},
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			begin := time.Now()
			_, err := designfile.Read("stdin", []byte(c.text))
			took := time.Since(begin)
			runtime.ReadMemStats(&after)
			if c.want == "" {
				assert.NoError(t, err)
			} else {
				require.Error(t, err)
				assert.Contains(t, err.Error(), c.want)
				assert.Less(t, len(err.Error()), 200_000)
			}
			// Wide margins: the machine may be busy.
			assert.Less(t, took, 15*time.Second)
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<30))
		})
	}
}

func deepIndent(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func TestOptionsBoundTheFile(t *testing.T) {
	data := hatchery(t)
	for want, o := range map[string]designfile.Options{
		"the limit is 1000":        {MaxBytes: 1000},
		"more than 100 elements":   {MaxElements: 100},
		"the limit is 20":          {MaxScalar: 20},
		"exceeded max depth of 3":  {MaxDepth: 3},
		"more problems are not li": {MaxScalar: 3, MaxProblems: 2},
	} {
		_, err := designfile.ReadLimited("hatchery.yaml", data, o)
		require.Error(t, err, want)
		assert.Contains(t, err.Error(), want)
	}
	_, err := designfile.ReadLimited("hatchery.yaml", data, designfile.Options{MaxBytes: len(data)})
	assert.NoError(t, err)
}

// large returns a design of some 20,000 components with a number of its own
// in each.
func large() []byte {
	var b bytes.Buffer
	b.WriteString("skidrule: v1\ncomponents:\n")
	for i := range 17_000 {
		fmt.Fprintf(&b, "  CV-%d: {check_valve: {opening_pressure: %d.%d mbar}, max_pressure: %d bar(g), elevation: %d.%d m}\n", i, i%50, i, i%20, i%10, i)
	}
	return b.Bytes()
}

func TestReadLargeFile(t *testing.T) {
	data := large()
	require.Greater(t, len(data), 1_600_000)
	begin := time.Now()
	f, err := designfile.Read("large.yaml", data)
	require.NoError(t, err)
	assert.Less(t, time.Since(begin), 5*time.Second, "well below a second on an idle machine")
	assert.Len(t, f.Design.GetComponents(), 17_000)
}

func BenchmarkReadLarge(b *testing.B) {
	data := large()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := designfile.Read("large.yaml", data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadHatchery(b *testing.B) {
	data := hatchery(b)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if _, err := designfile.Read("hatchery.yaml", data); err != nil {
			b.Fatal(err)
		}
	}
}
