package designfile_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
)

func TestPositionsWithin(t *testing.T) {
	for name, text := range map[string]string{
		"literal":         "description: |\n  first line\n    second >= MARK here\n  third\n",
		"literal header":  "description: |2- # a comment with MARK-less text\n   first\n\n  second MARK\n",
		"folded":          "description: >-\n  first line\n  second MARK here\n\n  third\n",
		"plain":           "description: some MARK here\n",
		"plain lines":     "description: some\n  text on MARK\n  lines\n",
		"double":          "description: \"tab\\t, quote \\\", \\u00e9 \\\n   and MARK\"\n",
		"double wide":     "description: \"é ° MARK\"\n",
		"single":          "description: 'it''s a MARK'\n",
		"single lines":    "description: 'it''s\n\n   a MARK'\n",
		"wide characters": "description: |\n  °°° ü MARK\n",
	} {
		t.Run(name, func(t *testing.T) {
			source := "skidrule: v1\n" + text
			f, err := designfile.Read("d.yaml", []byte(source))
			require.NoError(t, err)
			value := f.Design.GetDescription()
			offset := strings.Index(value, "MARK")
			require.GreaterOrEqual(t, offset, 0, value)
			at, ok := f.Positions.Within("description", offset)
			require.True(t, ok)
			lines := strings.Split(source, "\n")
			line := []rune(lines[at.Line-1])
			assert.True(t, strings.HasPrefix(string(line[at.Column-1:]), "MARK"), "%d:%d of\n%s", at.Line, at.Column, source)
			whole, ok := f.Positions.Find("description")
			require.True(t, ok)
			last := []rune(strings.TrimRight(lines[whole.EndLine-1], "\n"))
			assert.Equal(t, len(last)+1, whole.EndColumn, "the value ends with its line")
		})
	}
	t.Run("JSON", func(t *testing.T) {
		const source = `{"skidrule": "v1", "description": "\ud83d\ude00 \u00e9\n MARK"}`
		f, err := designfile.Read("d.json", []byte(source))
		require.NoError(t, err)
		assert.Equal(t, "\U0001f600 é\n MARK", f.Design.GetDescription())
		at, ok := f.Positions.Within("description", strings.Index(f.Design.GetDescription(), "MARK"))
		require.True(t, ok)
		assert.Equal(t, strings.Index(source, "MARK")+1, at.Column)
	})
}

// Every element's place must hold its own text.
func TestPositionsOfAllElements(t *testing.T) {
	data := hatchery(t)
	f, err := designfile.Read("hatchery.yaml", data)
	require.NoError(t, err)
	lines := strings.Split(string(data), "\n")
	paths := f.Positions.Paths()
	assert.Greater(t, len(paths), 300)
	for _, path := range paths[1:] {
		at, ok := f.Positions.Find(path)
		require.True(t, ok)
		require.Equal(t, path, at.Path)
		if at.Line == at.EndLine {
			line := []rune(lines[at.Line-1])
			assert.Equal(t, at.Text, string(line[at.Column-1:at.EndColumn-1]), path)
		}
		whole, _ := f.Positions.Extent(path)
		assert.True(t, whole.Line < at.Line || whole.Line == at.Line && whole.Column <= at.Column, path)
		assert.True(t, whole.EndLine > at.EndLine || whole.EndLine == at.EndLine && whole.EndColumn >= at.EndColumn, path)
	}
}

func TestPositionsOfWireJSON(t *testing.T) {
	for _, text := range []string{
		"{\"components\": [\n  {\"tag\": \"CV-1\", \"maxPressurePaGauge\": 5e5,\n   \"checkValve\": {\"openingPressurePa\": 3000}}]}",
		"{\"components\": [\n  {\"tag\": \"CV-1\", \"max_pressure_pa_gauge\": 5e5,\n   \"check_valve\": {\"opening_pressure_pa\": 3000}}]}",
	} {
		f, err := designfile.Read("d.json", []byte(text))
		require.NoError(t, err)
		require.Equal(t, designfile.WireJSON, f.Form)
		at, ok := f.Positions.Find("components.CV-1.max_pressure")
		require.True(t, ok)
		assert.Equal(t, "5e5", at.Text)
		at, ok = f.Positions.Find("components.CV-1.check_valve.opening_pressure")
		require.True(t, ok)
		assert.Equal(t, "3000", at.Text)
		assert.Equal(t, 3, at.Line)
		at, ok = f.Positions.Find("components.CV-1.elevation")
		require.True(t, ok)
		assert.Equal(t, "components.CV-1", at.Path)
		assert.Equal(t, "\"CV-1\"", at.Text)
	}
}

func TestPositionsWithoutLines(t *testing.T) {
	data, err := designfile.Convert("hatchery.yaml", hatchery(t), designfile.Binary)
	require.NoError(t, err)
	f, err := designfile.Read("d.binpb", data)
	require.NoError(t, err)
	_, ok := f.Positions.Find("components.CV-1")
	assert.False(t, ok)
	assert.Empty(t, f.Positions.Paths())
	var none *designfile.Positions
	_, ok = none.Find("components.CV-1")
	assert.False(t, ok)
	_, ok = none.Within("name", 0)
	assert.False(t, ok)
}

func TestOddKeysHavePaths(t *testing.T) {
	p := problems(t, "d.yaml", "skidrule: v1\ncomponents:\n  \"a.b\": {nmae: x}\n")
	assert.Equal(t, `components["a.b"]`, p.List[0].Path)
	assert.Equal(t, `components["a.b"].nmae`, p.List[1].Path)
	assert.Equal(t, 3, p.List[1].Line)
}
