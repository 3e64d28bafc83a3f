package rulebook_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ruleText is a rule about check valves around a condition.
func ruleText(condition string) string {
	return `skidrule_rule: v1
id: site/example
title: the example holds
severity: warning
subject: component
kinds: [check_valve]
condition: |
  ` + strings.ReplaceAll(condition, "\n", "\n  ") + `
parameters:
  margin: {description: margin, dimension: pressure_difference, value: 20 mbar, source: "common practice, no source"}
message: "{it.tag} does not hold."
why: because
mend: mend it
sources: [{text: "common practice, no source", status: common_practice}]
`
}

// compileText compiles the only rule of a file.
func compileText(t *testing.T, text string, site bool) (*rulebook.Compiled, error) {
	t.Helper()
	f, err := rulebook.ReadRule("site/example.yaml", []byte(text))
	require.NoError(t, err)
	book, err := rulebook.CompileFiles([]*rulebook.RuleFile{f}, site)
	if err != nil {
		return nil, err
	}
	return book.Rules()[0], nil
}

func compile(t *testing.T, condition string, site bool) (*rulebook.Compiled, *designfile.Problems) {
	t.Helper()
	c, err := compileText(t, ruleText(condition), site)
	var problems *designfile.Problems
	if err != nil {
		require.ErrorAs(t, err, &problems)
	}
	return c, problems
}

func TestBadConditionsAreFoundWhereTheyStand(t *testing.T) {
	for _, row := range []struct {
		name, condition string
		line, column    int
		message         string
	}{
		{"pressure against flow", "spec.opening_pressure >= basis.treated_flow", 8, 25, "cannot apply '>='"},
		{"gauge against absolute", "it.max_pressure >= basis.atmospheric_pressure", 8, 19, "cannot apply '>='"},
		{"pressure against a plain number", "spec.opening_pressure > 3.0", 8, 25, "cannot apply '>'"},
		{"unknown fact", "it.colour == 'red'", 8, 5, "undefined field 'colour'"},
		{"unknown variable", "true &&\nvalve.open", 9, 3, "undeclared reference to 'valve'"},
		{"unknown function", "sqrt(spec.opening_pressure) > param.margin", 8, 7, "undeclared reference to 'sqrt'"},
		{"absence cannot be asked for", "has(spec.opening_pressure)", 8, 6, "undeclared reference to 'has'"},
		{"unknown parameter", "spec.opening_pressure > param.margn", 8, 32, "undefined field 'margn'"},
		{"no end", "spec.opening_pressure >", 8, 26, "Syntax error"},
		{"not a condition", "spec.opening_pressure", 7, 12, "gives a pressure_difference, not a bool"},
		{"fact of another kind", "it.water_barriers > 1", 8, 5, "undefined field 'water_barriers'"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, problems := compile(t, row.condition, false)
			require.NotNil(t, problems)
			require.NotEmpty(t, problems.List)
			p := problems.List[0]
			assert.Contains(t, p.Message, row.message)
			assert.Equal(t, "site/example.yaml", p.File)
			assert.Equal(t, row.line, p.Line, p.Error())
			assert.Equal(t, row.column, p.Column, p.Error())
		})
	}
}

func TestExpressionsAreBounded(t *testing.T) {
	for want, condition := range map[string]string{
		"code point size exceeds limit": strings.Repeat("spec.opening_pressure > param.margin && ", 200) + "true",
		"node count exceeds limit":      "true" + strings.Repeat("&&true", 500),
		"recursion limit exceeded":      strings.Repeat("(", 300) + "true" + strings.Repeat(")", 300),
	} {
		_, problems := compile(t, condition, true)
		require.NotNil(t, problems, want)
		assert.Contains(t, problems.List[0].Message, want)
	}
}

func ask(t *testing.T, c *rulebook.Compiled, design string) []rulebook.Outcome {
	t.Helper()
	f, err := designfile.Read("design.yaml", []byte("skidrule: v1\n"+design))
	require.NoError(t, err)
	p, problems := plant.Resolve(f.Design, nil)
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	answer, err := c.Evaluate(context.Background(), fact.NewWorld(p, cases), nil, true)
	require.NoError(t, err)
	return answer.Outcomes
}

func TestFourOutcomesAndFailure(t *testing.T) {
	const valve = "components: {CV: {check_valve: {opening_pressure: 30 mbar}}}"
	for _, row := range []struct {
		name, condition, design string
		status                  skidrulev1.OutcomeStatus
	}{
		{"met", "spec.opening_pressure > param.margin", valve, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET},
		{"broken", "spec.opening_pressure < param.margin", valve, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN},
		{"missing", "spec.opening_pressure > param.margin", "components: {CV: {check_valve: {}}}", skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE},
		{"missing, but decided elsewhere", "spec.opening_pressure > param.margin || it.tag == 'CV'", "components: {CV: {check_valve: {}}}", skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET},
		{"missing, and the other side false", "spec.opening_pressure > param.margin && it.tag == 'X'", "components: {CV: {check_valve: {}}}", skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN},
		{"division by zero is not hidden", "spec.opening_pressure / (param.margin - param.margin) > 1.0 || true", valve, skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED},
		{"an assumption on one side of the limit", "spec.opening_pressure > param.margin",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 25 mbar, high: 40 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET},
		{"an assumption across the limit", "spec.opening_pressure > param.margin",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 10 mbar, high: 40 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE},
		{"equal", "spec.opening_pressure == param.margin", "components: {CV: {check_valve: {opening_pressure: 20 mbar}}}", skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET},
		{"not equal", "spec.opening_pressure == param.margin", valve, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN},
		{"an assumption that begins where it should lie", "spec.opening_pressure == param.margin",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 20 mbar, high: 40 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE},
		{"an assumption that ends where it should lie", "param.margin == spec.opening_pressure",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 10 mbar, high: 20 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE},
		{"an assumption above what it should be", "spec.opening_pressure == param.margin",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 21 mbar, high: 40 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN},
		{"an assumption below what it should be", "spec.opening_pressure == param.margin",
			"components: {CV: {check_valve: {}}}\nassumptions: [{path: components.CV.check_valve.opening_pressure, low: 10 mbar, high: 19 mbar, reason: usual}]", skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN},
	} {
		t.Run(row.name, func(t *testing.T) {
			c, problems := compile(t, row.condition, false)
			require.Nil(t, problems)
			outcomes := ask(t, c, row.design)
			require.Len(t, outcomes, 1)
			assert.Equal(t, row.status, outcomes[0].Status, outcomes[0].Failure)
			if strings.Contains(row.name, "assumption on one") {
				require.Len(t, outcomes[0].Assumed, 1, "the outcome carries what it rests on")
				assert.Equal(t, "opening_pressure", outcomes[0].Assumed[0].Field)
			}
			if row.status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
				require.Len(t, outcomes[0].Missing, 1, "the outcome names what would decide it")
				assert.Equal(t, "opening_pressure", outcomes[0].Missing[0].Field)
			}
		})
	}
}

// A truth that a fact settles by assumed data is told with it, as a number is.
func TestTruthsCarryTheirAssumptions(t *testing.T) {
	text := strings.NewReplacer("check_valve", "degassing_vessel").Replace(ruleText("it.under_pressure"))
	c, err := compileText(t, text, false)
	require.NoError(t, err)
	outcomes := ask(t, c, "components: {DV: {degassing_vessel: {}}}\nassumptions: [{path: components.DV.degassing_vessel.operating_pressure, low: 0.2 bar(g), high: 0.4 bar(g), reason: usual}]")
	require.Len(t, outcomes, 1)
	assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, outcomes[0].Status, outcomes[0].Failure)
	require.Len(t, outcomes[0].Assumed, 1)
	assert.Equal(t, "operating_pressure", outcomes[0].Assumed[0].Field)
}

// TestBadRulesAreToldWhereTheyStand spoils one part of a rule at a time.
func TestBadRulesAreToldWhereTheyStand(t *testing.T) {
	const condition = "spec.opening_pressure > param.margin"
	for _, row := range []struct {
		name, from, to string
		place          string // line:column of the rule file
		message        string
	}{
		{"unknown fact in the message", "{it.tag} does not", "{it.tagg} does not", "11:14", "undefined field 'tagg'"},
		{"unknown fact further on in the message", "{it.tag} does not hold", "{it.tag} does not hold {it.tagg}", "11:37", "undefined field 'tagg'"},
		{"unknown fact in the second line of the message", `message: "{it.tag} does not hold."`, "message: |\n  {it.tag} does\n  not hold {it.tagg}\n  at all", "13:15", "undefined field 'tagg'"},
		{"brace without end", "{it.tag} does", "{it.tag does", "11:10", "a { has no matching }"},
		{"unknown fact in evidence", "why: because", "why: because\nevidence: [{label: tag, value: it.tagg}]", "13:34", "undefined field 'tagg'"},
		{"unknown fact in a limit", "why: because", "why: because\nevidence: [{label: tag, value: it.tag, limit: param.margn}]", "13:52", "undefined field 'margn'"},
		{"path that is none", "why: because", "why: because\npath: it.tag", "13:7", "gives a string, not a path"},
		{"when it applies", "why: because", "why: because\napplies_when: spec.opening_pressure", "13:15", "not a bool"},
		{"unknown kind", "[check_valve]", "[check_valve, chek_valve]", "6:22", `"chek_valve" is no component kind`},
		{"data of one kind asked of two", "[check_valve]", "[check_valve, pump]", "", "undefined field 'opening_pressure'"},
		{"id", "id: site/example", "id: Example", "2:5", "is not of the form topic/readable-slug"},
		{"no title", "title: the example holds", "title: ' '", "3:8", "does not state its title"},
		{"no source", `sources: [{text: "common practice, no source", status: common_practice}]`, "", "", "names no source"},
		{"value in another unit", "value: 20 mbar", "value: 20 L", "10:72", ""},
		{"parameter of unknown dimension", "dimension: pressure_difference", "dimension: pressur", "10:60", "is no dimension"},
		{"parameter that is no whole number", "dimension: pressure_difference, value: 20 mbar", "dimension: count, value: '2.5'", "10:58", "is not a whole number"},
		{"parameter that is no truth", "dimension: pressure_difference, value: 20 mbar", "dimension: truth, value: perhaps", "10:58", "neither true nor false"},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := ruleText(condition)
			require.Contains(t, text, row.from)
			_, err := compileText(t, strings.Replace(text, row.from, row.to, 1), false)
			var problems *designfile.Problems
			require.ErrorAs(t, err, &problems)
			p := problems.List[0]
			assert.Contains(t, p.Message, row.message)
			if row.place != "" {
				assert.Equal(t, row.place, fmt.Sprintf("%d:%d", p.Line, p.Column), p.Error())
			}
		})
	}
}

// TestChangesOfASite changes severity and a parameter of a rule, and a parameter that it has not.
func TestChangesOfASite(t *testing.T) {
	f, err := rulebook.ReadRule("site/example.yaml", []byte(ruleText("spec.opening_pressure > param.margin")))
	require.NoError(t, err)
	plain, faults := rulebook.Compile(f.Rule, nil, false)
	require.Empty(t, faults)
	assert.Equal(t, skidrulev1.Severity_SEVERITY_WARNING, plain.Severity)
	changed, faults := rulebook.Compile(f.Rule, &skidrulev1.RuleChange{Severity: skidrulev1.Severity_SEVERITY_NOTE, Parameters: map[string]string{"margin": "40 mbar"}}, false)
	require.Empty(t, faults)
	assert.Equal(t, skidrulev1.Severity_SEVERITY_NOTE, changed.Severity)
	const valve = "components: {CV: {check_valve: {opening_pressure: 30 mbar}}}"
	assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, ask(t, plain, valve)[0].Status)
	assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN, ask(t, changed, valve)[0].Status)
	_, faults = rulebook.Compile(f.Rule, &skidrulev1.RuleChange{Parameters: map[string]string{"margn": "40 mbar"}}, false)
	assert.Equal(t, []rulebook.Fault{{Field: "parameters", Message: `the rule has no parameter "margn"`}}, faults)
}

// TestExamplesTellWhatDiffers gives a rule examples that do not hold, and asks for the reason.
func TestExamplesTellWhatDiffers(t *testing.T) {
	const examples = `examples:
  base:
    expect: broken
    design: {components: {CV-1: {check_valve: {opening_pressure: 10 mbar}}, CV-2: {check_valve: {opening_pressure: 30 mbar}}}}
  met:
    expect: broken
    subject: CV-2
    based_on: base
  broken:
    expect: met
    based_on: base
  open:
    expect: met
    based_on: base
    without: [components.CV-1.check_valve.opening_pressure]
  other-missing:
    expect: not_verifiable
    missing: components.CV-2.check_valve.opening_pressure
    based_on: base
    without: [components.CV-1.check_valve.opening_pressure]
  open-and-broken:
    expect: not_verifiable
    based_on: base
    without: [components.CV-2.check_valve.opening_pressure]
  other-words:
    expect: broken
    message_contains: opens
    based_on: base
  nobody:
    expect: met
    subject: CV-3
    based_on: base
  nothing:
    expect: not_applicable
    design: {components: {P-1: {pump: {}}}}
  nothing-but-met:
    expect: met
    based_on: nothing
  base-is-not-there:
    expect: met
    based_on: bases
  takes-out-nothing:
    expect: broken
    based_on: base
    without: [components.CV-3]
  takes-out-no-datum:
    expect: broken
    based_on: base
    without: [components.CV-1.check_valve.flow_coefficient]
  takes-out-no-field:
    expect: broken
    based_on: base
    without: [components.CV-1.check_valve.flow_coeficient]
  takes-out-of-a-text:
    expect: broken
    based_on: base
    without: [name.part]
  takes-out-of-an-empty-basis:
    expect: broken
    based_on: base
    without: [basis.treated_flow]
  takes-out-a-part:
    expect: met
    based_on: base
    without: [components.CV-1]
  round:
    expect: met
    based_on: about
  about:
    expect: met
    based_on: round
  leads-nowhere:
    expect: broken
    based_on: base
    design: {lines: {L-1: {route: [CV-1, CV-9]}}}
`
	c, err := compileText(t, ruleText("spec.opening_pressure > param.margin")+examples, false)
	require.NoError(t, err)
	got := map[string]string{}
	for _, r := range c.TestExamples(context.Background(), nil) {
		got[r.Name] = r.Problem
	}
	want := map[string]string{
		"base":                        "",
		"met":                         "expected broken, got met for components.CV-2",
		"broken":                      "expected met, got broken for components.CV-1: CV-1 does not hold.",
		"open":                        "expected met, got not_verifiable for components.CV-1: missing components.CV-1.check_valve.opening_pressure",
		"other-missing":               "expected components.CV-2.check_valve.opening_pressure among the missing data, got components.CV-1.check_valve.opening_pressure",
		"open-and-broken":             "expected not_verifiable, got broken for components.CV-1",
		"other-words":                 `the message does not contain "opens": CV-1 does not hold.`,
		"nobody":                      "the rule was asked of nothing in it",
		"nothing":                     "",
		"nothing-but-met":             "the rule was asked of nothing in it",
		"base-is-not-there":           `there is no example "bases" to base another on`,
		"takes-out-nothing":           "there is no components.CV-3 to take out",
		"takes-out-no-datum":          "there is no components.CV-1.check_valve.flow_coefficient to take out",
		"takes-out-no-field":          "there is no components.CV-1.check_valve.flow_coeficient to take out",
		"takes-out-of-a-text":         "there is no name.part to take out",
		"takes-out-of-an-empty-basis": "there is no basis.treated_flow to take out",
		"takes-out-a-part":            "",
		"round":                       "based on each other in a circle",
		"about":                       "based on each other in a circle",
		"leads-nowhere":               "its design does not resolve",
	}
	require.Len(t, got, len(want))
	for name, problem := range want {
		if problem == "" {
			assert.Empty(t, got[name], name)
		}
		assert.Contains(t, got[name], problem, name)
	}
}

// TestFoldersTellEveryFault reads a folder in which files lie under other names than their ids, twice, and cannot be read.
func TestFoldersTellEveryFault(t *testing.T) {
	good := ruleText("spec.opening_pressure > param.margin")
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	read, err := rulebook.LoadFolder(fstest.MapFS{"site/example.yaml": file(good), "site/README.md": file("no rule")})
	require.NoError(t, err)
	require.Len(t, read, 1)
	_, err = rulebook.LoadFolder(fstest.MapFS{
		"a/site/example.yaml": file(good), "b/site/example.yaml": file(good), "site/other.yaml": file(good),
		"site/unread.yaml": file(strings.Replace(good, "severity", "sevrity", 1)),
	})
	var problems *designfile.Problems
	require.ErrorAs(t, err, &problems)
	told := problems.Error()
	for _, want := range []string{
		"b/site/example.yaml:2:5: the rule stands in a/site/example.yaml too",
		"site/other.yaml:2:5: the id site/example does not fit the file name site/other.yaml",
		"site/unread.yaml:4:1: ",
	} {
		assert.Contains(t, told, want)
	}
}

// TestFindingsTellTheirNumbers asks for message and evidence of a broken rule: single numbers, ranges, texts, truths, and what is not
// known.
func TestFindingsTellTheirNumbers(t *testing.T) {
	text := strings.NewReplacer("{it.tag} does not hold.", "of {it.tag}: {spec.opening_pressure}, {it.lines_pass_forward}, {basis.treated_flow}, {counted(design.excluded_cases_possible, 'part', 'parts')}",
		"why: because", `why: because
evidence:
  - {label: opens at, value: spec.opening_pressure, limit: param.margin}
  - {label: tag, value: it.tag, limit: "'CV-2'"}
  - {label: flow, value: basis.treated_flow, limit: basis.treated_flow}
  - {label: both, value: spec.opening_pressure - param.margin}
  - {label: from, value: "larger(spec.flow_coefficient, flow_coefficient('2 Kv'))"}
  - {label: up to, value: "lesser(spec.flow_coefficient, flow_coefficient('2 Kv'))"}`).Replace(ruleText("spec.opening_pressure < param.margin"))
	c, err := compileText(t, text, false)
	require.NoError(t, err)
	o := ask(t, c, `components: {CV: {check_valve: {}}}
assumptions: [{path: components.CV.check_valve.opening_pressure, low: 25 mbar, high: 40 mbar, reason: usual}]`)
	require.Len(t, o, 1)
	require.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN, o[0].Status)
	assert.Equal(t, "of CV: 25 mbar to 40 mbar, yes, not known, 0 parts", o[0].Message)
	e := o[0].Evidence
	require.Len(t, e, 6)
	assert.Equal(t, "pressure_difference", e[0].GetDimension())
	assert.Equal(t, []float64{2500, 4000, 2000}, []float64{e[0].GetValue(), e[0].GetValueHigh(), e[0].GetLimit()})
	assert.Equal(t, []string{"text", "CV", "CV-2"}, []string{e[1].GetDimension(), e[1].GetText(), e[1].GetLimitText()})
	assert.Equal(t, []string{"liquid_flow", "not known", "not known"}, []string{e[2].GetDimension(), e[2].GetText(), e[2].GetLimitText()})
	assert.Nil(t, e[2].Value)
	assert.InDelta(t, 500, e[3].GetValue(), 1e-9)
	assert.InDelta(t, 2000, e[3].GetValueHigh(), 1e-9)
	assert.Empty(t, e[3].GetText())
	// A range that is open at one end must not read as a single number.
	assert.Equal(t, "at least 2 Kv", e[4].GetText())
	assert.Nil(t, e[4].ValueHigh)
	assert.Equal(t, "at most 2 Kv", e[5].GetText())
	assert.Nil(t, e[5].Value)

	// Words that cannot be told give way to the title, so that the finding is not lost.
	text = strings.Replace(ruleText("spec.opening_pressure < param.margin"), "{it.tag} does not hold.", "{it.tag}: {spec.opening_pressure / (param.margin - param.margin)} of it", 1)
	c, err = compileText(t, text, false)
	require.NoError(t, err)
	o = ask(t, c, "components: {CV: {check_valve: {opening_pressure: 30 mbar}}}")
	assert.Equal(t, "the example holds does not hold", o[0].Message)
}

func TestEvaluationStopsWithItsContext(t *testing.T) {
	c, problems := compile(t, "spec.opening_pressure > param.margin", false)
	require.Nil(t, problems)
	f, err := designfile.Read("design.yaml", []byte("skidrule: v1\ncomponents: {CV: {check_valve: {}}}"))
	require.NoError(t, err)
	p, _ := plant.Resolve(f.Design, nil)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = c.Evaluate(ctx, fact.NewWorld(p, nil), nil, true)
	assert.ErrorIs(t, err, context.Canceled)
}

func FuzzReadRule(f *testing.F) {
	f.Add(ruleText("spec.opening_pressure > param.margin"))
	f.Add(ruleText("((((((1"))
	f.Add("skidrule_rule: v1\nid: a/b\nexamples: {x: {design: {components: {P: {pump: {}}}}}}")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := rulebook.ReadRule("a/b.yaml", []byte(text))
		if err != nil {
			return
		}
		// Whatever can be read either compiles or says why not.
		if _, err := rulebook.CompileFiles([]*rulebook.RuleFile{file}, true); err != nil {
			assert.NotEmpty(t, err.Error())
		}
	})
}
