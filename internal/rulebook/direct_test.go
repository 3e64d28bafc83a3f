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
			d, err := exampleDesign(c.Rule, e.GetName(), 0)
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
	assert.Greater(t, direct, len(book.Rules()), "most conditions are turned into functions")
	assert.Greater(t, compared, 10*direct)
	t.Logf("%d conditions compared %d times", direct, compared)
}

// TestDirectAgreesOnWhatSitesMaySay asks conditions of forms that no built-in rule has, of destructs that state each datum or not, in
// both ways.
func TestDirectAgreesOnWhatSitesMaySay(t *testing.T) {
	d := &skidrulev1.Design{}
	truths := []*bool{nil, new(false), new(true)}
	for _, heated := range truths {
		for _, cooled := range truths {
			for _, principle := range []skidrulev1.DestructPrinciple{0, skidrulev1.DestructPrinciple_DESTRUCT_PRINCIPLE_CATALYTIC, skidrulev1.DestructPrinciple_DESTRUCT_PRINCIPLE_ACTIVATED_CARBON} {
				for _, drop := range []*float64{nil, new(1000.0), new(3000.0)} {
					d.Components = append(d.Components, &skidrulev1.Component{Tag: fmt.Sprintf("OD-%d", len(d.Components)), Spec: &skidrulev1.Component_OzoneDestruct{
						OzoneDestruct: &skidrulev1.OzoneDestruct{Heated: heated, OutletCooled: cooled, Principle: principle, PressureDropPa: drop},
					}})
				}
			}
		}
	}
	for i, c := range d.Components {
		if c.GetOzoneDestruct().PressureDropPa == nil && i%2 == 0 {
			d.Assumptions = append(d.Assumptions, &skidrulev1.Assumption{Path: "components." + c.Tag + ".ozone_destruct.pressure_drop", Low: new(1000.0), High: new(4000.0), Reason: "usual"})
		}
	}
	w := testWorld(t, d)
	for _, text := range []string{
		"spec.heated ? spec.outlet_cooled : true",
		"spec.heated ? false : spec.outlet_cooled",
		"(spec.heated ? spec.pressure_drop : param.limit) > param.limit",
		"spec.principle == 'catalytic'",
		"spec.principle != 'catalytic'",
		"'catalytic' == spec.principle",
		"spec.principle in ['thermal', 'catalytic']",
		"!(spec.principle in ['catalytic'])",
		"it.tag in ['OD-1', 'OD-2', 'OD-3']",
		"spec.heated == spec.outlet_cooled",
		"spec.heated != spec.outlet_cooled",
		"spec.heated == param.flag",
		"param.flag && spec.heated",
		"spec.principle == param.word",
		"lesser(spec.pressure_drop, param.limit) < param.limit",
		"larger(spec.pressure_drop, param.limit) > param.limit",
		"spec.pressure_drop + param.limit > pressure_difference('45 mbar')",
		"spec.pressure_drop - param.limit > pressure_difference('-5 mbar')",
		"spec.pressure_drop * 2.0 >= pressure_difference('60 mbar')",
		"spec.pressure_drop / param.limit <= 1.0",
		"spec.pressure_drop / 2.0 < pressure_difference('10 mbar')",
		"spec.heated && (spec.outlet_cooled || spec.pressure_drop > param.limit)",
		"spec.heated || spec.outlet_cooled && spec.pressure_drop > param.limit",
		"case_id == '' && spec.heated",
	} {
		c := destructRule(t, text)
		require.NotNil(t, c.condition.direct, text)
		s, seen := c.newScope(w), map[fact.Verdict]int{}
		for _, subject := range c.subjects(w, new([]int32)) {
			s.at = fact.At{Index: subject, Case: -1}
			a := c.condition.direct(s)
			seen[a.Value]++
			b, err := c.decide(context.Background(), &condition{program: c.condition.program}, s)
			require.NoError(t, err, text)
			require.Equal(t, b.Value, a.Value, "%s of %s", text, d.Components[subject])
			// Beside a datum that is missing the interpreter names assumptions as well.
			if a.Value == fact.Undecided && len(a.Missing) > 0 && len(a.Assumed) == 0 {
				require.Equal(t, Paths(b.Missing, w.Plant), Paths(a.Missing, w.Plant), "%s of %s", text, d.Components[subject])
			}
		}
		assert.NotZero(t, seen[fact.True], text)
		assert.NotZero(t, seen[fact.False], text)
		assert.True(t, seen[fact.Undecided] > 0 || text[:6] == "it.tag", text)
	}
}

// TestFormsLeftToTheInterpreter asks conditions that are no functions of ours in part: they are left to the interpreter as a whole.
func TestFormsLeftToTheInterpreter(t *testing.T) {
	w := testWorld(t, &skidrulev1.Design{Components: []*skidrulev1.Component{{Tag: "OD-1", Spec: &skidrulev1.Component_OzoneDestruct{
		OzoneDestruct: &skidrulev1.OzoneDestruct{Heated: new(true), PressureDropPa: new(3000.0)},
	}}}})
	for _, text := range []string{
		"spec.pressure_drop * (3.0 - 1.0) >= pressure_difference('60 mbar')",
		"pressure_difference('10' + ' mbar') + spec.pressure_drop >= pressure_difference('40 mbar')",
		"spec.pressure_drop + pressure_difference('10' + ' mbar') >= pressure_difference('40 mbar')",
		"spec.heated && 'OD' + '-1' == it.tag",
		"'OD' + '-1' == it.tag && spec.heated",
		"it.tag in ['OD' + '-1']",
		"spec.heated ? 'OD' + '-1' == it.tag : false",
		"7 / 2 == 3 && spec.heated",
	} {
		c := destructRule(t, text)
		assert.Nil(t, c.condition.direct, text)
		answer, err := c.Evaluate(context.Background(), w, nil, true)
		require.NoError(t, err, text)
		require.Len(t, answer.Outcomes, 1)
		assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, answer.Outcomes[0].Status, "%s: %s", text, answer.Outcomes[0].Failure)
	}
}

func testWorld(t *testing.T, d *skidrulev1.Design) *fact.World {
	t.Helper()
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return fact.NewWorld(p, cases)
}

// destructRule is a rule of a site about destructs around a condition.
func destructRule(t *testing.T, condition string) *Compiled {
	t.Helper()
	c, faults := Compile(&skidrulev1.Rule{
		Id: "site/form", Title: "form", Severity: skidrulev1.Severity_SEVERITY_ERROR, Subject: skidrulev1.RuleSubject_RULE_SUBJECT_COMPONENT, Kinds: []string{"ozone_destruct"},
		Condition: condition, Message: "no", Why: "why", Mend: "mend", Sources: []*skidrulev1.RuleSource{{Text: "none"}},
		Parameters: []*skidrulev1.RuleParameter{{Name: "limit", Dimension: "pressure_difference", Value: "25 mbar"}, {Name: "flag", Dimension: "truth", Value: "true"}, {Name: "word", Dimension: "text", Value: "catalytic"}},
	}, nil, true)
	require.Empty(t, faults, condition)
	return c
}
