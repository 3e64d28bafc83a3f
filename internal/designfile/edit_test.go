package designfile_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/designfile"
)

const edited = `skidrule: v1
# The loop.
name: Loop
components:
  CV-1: {check_valve: {}, max_pressure: 3 bar(g)} # first
  CV-2: {check_valve: {}}
  HV-1:
    # a ball valve
    hand_valve: {}
    locked: false
lines:
  G-1: {route: [CV-1, CV-2.outlet>inlet, HV-1], service: ozone_gas}
  G-2:
    route:
      - HV-1
      - CV-1
`

func TestEditorKeepsTheRest(t *testing.T) {
	f, err := designfile.Read("loop.yaml", []byte(edited))
	require.NoError(t, err)
	e, ok := designfile.NewEditor(f)
	require.True(t, ok)
	for name, c := range map[string]struct {
		made func() (designfile.TextEdit, bool)
		from string
		to   string
	}{
		"replace":               {func() (designfile.TextEdit, bool) { return e.Replace("components.CV-1.max_pressure", "5 bar(g)") }, "3 bar(g)", "5 bar(g)"},
		"replace a stop":        {func() (designfile.TextEdit, bool) { return e.Replace("lines.G-1.route[1]", "CV-2") }, "CV-2.outlet>inlet", "CV-2"},
		"set a new one":         {func() (designfile.TextEdit, bool) { return e.Set("components.CV-2", "locked", "true") }, "CV-2: {check", "CV-2: {locked: true, check"},
		"set one that is there": {func() (designfile.TextEdit, bool) { return e.Set("components.HV-1", "locked", "true") }, "locked: false", "locked: true"},
		"set in a block":        {func() (designfile.TextEdit, bool) { return e.Set("components.HV-1", "normal_position", "closed") }, "    hand_valve: {}\n", "    normal_position: closed\n    hand_valve: {}\n"},
		"set in an empty one":   {func() (designfile.TextEdit, bool) { return e.Set("components.CV-2.check_valve", "mounting", "upward") }, "CV-2: {check_valve: {}}", "CV-2: {check_valve: {mounting: upward}}"},
		"insert a stop":         {func() (designfile.TextEdit, bool) { return e.InsertItem("lines.G-1.route[1]", "LT-1") }, "CV-1, CV-2", "CV-1, LT-1, CV-2"},
		"insert in a list":      {func() (designfile.TextEdit, bool) { return e.InsertItem("lines.G-2.route[1]", "LT-1") }, "      - CV-1\n", "      - LT-1\n      - CV-1\n"},
		"insert an entry": {func() (designfile.TextEdit, bool) {
			return e.InsertEntry("components.CV-1", "LT-1", "{liquid_trap: {}}")
		}, "# first\n", "# first\n  LT-1: {liquid_trap: {}}\n"},
		"remove an entry":      {func() (designfile.TextEdit, bool) { return e.RemoveEntry("components.CV-2") }, "  CV-2: {check_valve: {}}\n", ""},
		"remove from brackets": {func() (designfile.TextEdit, bool) { return e.RemoveEntry("components.CV-1.max_pressure") }, ", max_pressure: 3 bar(g)", ""},
		"remove the first":     {func() (designfile.TextEdit, bool) { return e.RemoveEntry("components.CV-1.check_valve") }, "{check_valve: {}, max", "{max"},
		"remove several lines": {func() (designfile.TextEdit, bool) { return e.RemoveEntry("lines.G-2") }, "  G-2:\n    route:\n      - HV-1\n      - CV-1\n", ""},
	} {
		t.Run(name, func(t *testing.T) {
			edit, ok := c.made()
			require.True(t, ok)
			got, err := designfile.ApplyEdits(e.Text(), []designfile.TextEdit{edit})
			require.NoError(t, err)
			require.Equal(t, 1, strings.Count(edited, c.from))
			assert.Equal(t, strings.Replace(edited, c.from, c.to, 1), string(got))
		})
	}
	for name, made := range map[string]func() (designfile.TextEdit, bool){
		"no such path":   func() (designfile.TextEdit, bool) { return e.Replace("components.CV-7.max_pressure", "1") },
		"a mapping":      func() (designfile.TextEdit, bool) { return e.Replace("components.CV-1", "1") },
		"set in nothing": func() (designfile.TextEdit, bool) { return e.Set("components.CV-7", "locked", "true") },
		"no such item":   func() (designfile.TextEdit, bool) { return e.InsertItem("lines.G-1.route[9]", "x") },
	} {
		_, ok := made()
		assert.False(t, ok, name)
	}
	json, err := designfile.Read("d.json", []byte(`{"skidrule": "v1", "name": "d"}`))
	require.NoError(t, err)
	_, ok = designfile.NewEditor(json)
	assert.False(t, ok)
}

func TestApplyEditsRefuses(t *testing.T) {
	text := []byte("abcdef")
	for name, edits := range map[string][]designfile.TextEdit{
		"overlap":      {{From: 0, To: 3, Old: "abc"}, {From: 2, To: 4, Old: "cd"}},
		"another text": {{From: 0, To: 1, Old: "x"}},
		"outside":      {{From: 5, To: 9, Old: "f"}},
		"backward":     {{From: 3, To: 2}},
		"negative":     {{From: -1, To: 0}},
	} {
		_, err := designfile.ApplyEdits(text, edits)
		assert.Error(t, err, name)
	}
	got, err := designfile.ApplyEdits(text, []designfile.TextEdit{{From: 6, To: 6, New: "g"}, {From: 0, To: 1, Old: "a", New: "A"}, {From: 1, To: 1, New: "-"}})
	require.NoError(t, err)
	assert.Equal(t, "A-bcdefg", string(got))
}

// TestApplyEditsIsReplacement checks against the plain definition: what lies between the edits stays.
func TestApplyEditsIsReplacement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-e\n]{0,40}`).Draw(t, "text")
		at := rapid.SliceOfN(rapid.IntRange(0, len(text)), 0, 6).Draw(t, "at")
		var edits []designfile.TextEdit
		want, last := "", 0
		for _, to := range at {
			if to < last {
				continue
			}
			from := rapid.IntRange(last, to).Draw(t, "from")
			put := rapid.StringMatching(`[x-z]{0,3}`).Draw(t, "put")
			edits = append(edits, designfile.TextEdit{From: from, To: to, Old: text[from:to], New: put})
			want += text[last:from] + put
			last = to
		}
		got, err := designfile.ApplyEdits([]byte(text), edits)
		if err != nil || string(got) != want+text[last:] {
			t.Fatalf("%q %v: %q, %v", text, edits, got, err)
		}
	})
}
