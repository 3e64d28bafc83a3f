package rulebook

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
	"github.com/skidrule/skidrule/rules"
)

// TestDirectAgreesWithInterpreter asks every built-in condition of the examples of its rule and of the demo designs in both
// ways.
func TestDirectAgreesWithInterpreter(t *testing.T) {
	files, err := LoadFolder(rules.Files)
	require.NoError(t, err)
	book, err := CompileFiles(files, false)
	require.NoError(t, err)
	var demos []*skidrulev1.Design
	names, err := filepath.Glob("../../testdata/*/design.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		f, err := designfile.Read(name, data)
		require.NoError(t, err)
		demos = append(demos, f.Design)
	}
	var worlds []*fact.World
	for _, d := range demos {
		worlds = append(worlds, testWorld(t, d))
	}
	direct, compared := 0, 0
	for _, c := range book.Rules() {
		own := append([]*fact.World(nil), worlds...)
		for _, e := range c.Rule.GetExamples() {
			d, err := ExampleDesign(c.Rule, e.GetName())
			require.NoError(t, err)
			own = append(own, testWorld(t, d))
		}
		for part, k := range map[string]*condition{"applies_when": c.applies, "condition": c.condition} {
			if k == nil {
				continue
			}
			guarded := part == "condition" && c.applies != nil
			if k.direct == nil {
				t.Logf("%s: its %s is left to the interpreter", c.Rule.GetId(), part)
				continue
			}
			direct++
			for _, w := range own {
				s := c.newScope(w)
				for _, subject := range c.subjects(w, new([]int32)) {
					s.at = fact.At{Index: subject, Case: -1}
					if c.ByCase {
						s.at.Case = 0
					}
					if guarded {
						if t, err := c.decide(context.Background(), c.applies, s); err != nil || t.Value == fact.False {
							continue
						}
					}
					compared++
					a := k.direct(s)
					b, err := c.decide(context.Background(), &condition{program: k.program}, s)
					require.NoError(t, err, c.Rule.GetId())
					where := fmt.Sprintf("%s of %s, asked of %s", part, c.Rule.GetId(), c.SubjectPath(w, subject))
					require.Equal(t, b.Value, a.Value, where)
					if a.Value == fact.Undecided && len(a.Missing) > 0 {
						assert.Equal(t, Paths(b.Missing, w.Plant), Paths(a.Missing, w.Plant), where)
					}
				}
			}
		}
	}
	assert.Greater(t, direct, book.Len(), "most conditions are turned into functions")
	t.Logf("%d conditions compared %d times", direct, compared)
}

func testWorld(t *testing.T, d *skidrulev1.Design) *fact.World {
	t.Helper()
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return fact.NewWorld(p, cases)
}
