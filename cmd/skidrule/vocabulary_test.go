package main

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestVocabularyCoversEveryFact asks for each fact and each dimension by name.
func TestVocabularyCoversEveryFact(t *testing.T) {
	t.Parallel()
	g := newGlossary()
	have := map[string]bool{}
	for _, x := range g.Terms {
		have[x.Subject+" "+x.Name] = true
	}
	for _, d := range fact.Definitions() {
		name := map[fact.On]string{
			fact.OnComponent: "component it.", fact.OnLine: "line it.", fact.OnJoint: "joint it.", fact.OnPort: "port it.", fact.OnDesign: " design.",
		}[d.On] + d.Name
		assert.True(t, have[name], name)
		assert.NotEmpty(t, d.Doc, name)
	}
	assert.Len(t, g.Types, len(quantity.Dimensions()))
	assert.True(t, have["component it.max_pressure"])
	assert.True(t, have["component spec.opening_pressure"])
}

// TestVocabularyIsWhatRulesUnderstand compiles the example of every term in a rule about what the term wants.
func TestVocabularyIsWhatRulesUnderstand(t *testing.T) {
	t.Parallel()
	subjects := map[string]skidrulev1.RuleSubject{
		"": skidrulev1.RuleSubject_RULE_SUBJECT_DESIGN, "component": skidrulev1.RuleSubject_RULE_SUBJECT_COMPONENT,
		"line": skidrulev1.RuleSubject_RULE_SUBJECT_LINE, "joint": skidrulev1.RuleSubject_RULE_SUBJECT_JOINT, "port": skidrulev1.RuleSubject_RULE_SUBJECT_PORT,
	}
	for _, x := range newGlossary().Terms {
		rule := &skidrulev1.Rule{
			Id: "house/term", Title: "t", Severity: skidrulev1.Severity_SEVERITY_NOTE, Subject: subjects[x.Subject], Condition: x.Example,
			Message: "m.", Why: "w", Mend: "m", Sources: []*skidrulev1.RuleSource{{Text: "s", Status: skidrulev1.SourceStatus_SOURCE_STATUS_COMMON_PRACTICE}},
		}
		if len(x.Kinds) > 0 {
			rule.Kinds = x.Kinds[:1]
		}
		if path, ok := strings.CutPrefix(x.Example, "path: "); ok {
			rule.Condition, rule.Path = "true", path
		}
		if x.ByCase {
			rule.Cases = []string{"all"}
		}
		_, faults := rulebook.Compile(rule, nil, true)
		assert.Empty(t, faults, "%s of %s %v: %s", x.Name, x.Subject, x.Kinds, x.Example)
	}
}

func TestVocabularyVerb(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "vocabulary", "--kind", "check_valve")
	assert.Equal(t, exitPassed, r.code, r.stderr)
	assert.Contains(t, r.stdout, "## Of rules about the kind check_valve alone")
	assert.NotContains(t, r.stdout, "## Of rules about lines")
	r = command(t, nil, "vocabulary", "--format", "json")
	var g glossary
	require.NoError(t, json.Unmarshal([]byte(r.stdout), &g))
	assert.Len(t, g.Terms, len(newGlossary().Terms))
	assert.Len(t, g.Functions, len(newGlossary().Functions))
	assert.Contains(t, command(t, nil, "vocabulary", "--kind", "chek_valve").stderr, "there is no kind")
}
