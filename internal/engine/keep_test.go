package engine_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestKeptRulesAnswerTheSame asks with a rule of a site that changes from request to request, in a context that keeps rules and in one
// that does not, and faults of a rule every time.
func TestKeptRulesAnswerTheSame(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	d, _ := reversed(t)
	own := proto.CloneOf(e.Book().Rules()[0].Rule)
	own.Id = "house/own"
	changed, broken := proto.CloneOf(own), proto.CloneOf(own)
	changed.Condition, broken.Condition = "false", "no_such_word"
	softer := []*skidrulev1.RuleChange{{RuleId: own.GetId(), Severity: skidrulev1.Severity_SEVERITY_NOTE, Reason: "a trial"}}
	kept := engine.KeepingRules(context.Background())
	findings := map[int]bool{}
	for range 2 {
		for i, o := range []*skidrulev1.CheckOptions{
			{SiteRules: []*skidrulev1.Rule{own}}, {SiteRules: []*skidrulev1.Rule{changed}}, {SiteRules: []*skidrulev1.Rule{broken}},
			{SiteRules: []*skidrulev1.Rule{changed}, RuleChanges: softer},
		} {
			request := &skidrulev1.CheckDesignRequest{Design: d, Options: o}
			want, wrong := e.Check(context.Background(), request)
			got, err := e.Check(kept, request)
			assert.Equal(t, wrong, err, i)
			assert.True(t, proto.Equal(want, got), i)
			findings[len(got.GetFindings())] = true
		}
	}
	assert.Len(t, findings, 3, "of the rule, of the changed one, of the one that cannot be asked")
}
