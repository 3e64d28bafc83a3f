package engine_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestBuiltInRulesAreComplete demands of every built-in rule an example of each outcome, or the reason why it cannot occur,
// and references that lead somewhere.
func TestBuiltInRulesAreComplete(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	demanded := []skidrulev1.OutcomeStatus{
		skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN,
		skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE, skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE,
	}
	for _, c := range e.Book().Rules() {
		rule := c.Rule
		shown, excused := map[skidrulev1.OutcomeStatus]bool{}, map[skidrulev1.OutcomeStatus]bool{}
		for _, x := range rule.GetExamples() {
			shown[x.GetExpect()] = true
		}
		for _, x := range rule.GetCannotOccur() {
			assert.NotEmpty(t, x.GetReason(), "%s: an outcome that cannot occur needs a reason", rule.GetId())
			assert.False(t, shown[x.GetOutcome()], "%s: %s cannot occur and yet has an example", rule.GetId(), designfile.EnumWord(x.GetOutcome()))
			excused[x.GetOutcome()] = true
		}
		for _, s := range demanded {
			assert.True(t, shown[s] || excused[s], "%s: no example is %s, and no reason says why none can be", rule.GetId(), designfile.EnumWord(s))
		}
		for _, id := range rule.GetConsequenceOf() {
			_, ok := e.Book().Find(id)
			assert.True(t, ok, "%s is a consequence of %s, which is not there", rule.GetId(), id)
			assert.NotEqual(t, rule.GetId(), id, "a rule is no consequence of itself")
		}
		for _, s := range rule.GetSources() {
			assert.NotEqual(t, skidrulev1.SourceStatus_SOURCE_STATUS_UNSPECIFIED, s.GetStatus(), "%s: the source %q has no status", rule.GetId(), s.GetText())
		}
	}
}
