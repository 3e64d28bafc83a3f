package rulebook_test

import (
	"context"
	"strings"
	"testing"

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

func compile(t *testing.T, condition string, site bool) (*rulebook.Compiled, *designfile.Problems) {
	t.Helper()
	f, err := rulebook.ReadRule("site/example.yaml", []byte(ruleText(condition)))
	require.NoError(t, err)
	book, err := rulebook.CompileFiles([]*rulebook.RuleFile{f}, site)
	if err != nil {
		var problems *designfile.Problems
		require.ErrorAs(t, err, &problems)
		return nil, problems
	}
	return book.Rules()[0], nil
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
