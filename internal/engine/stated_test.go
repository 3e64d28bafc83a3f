package engine_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Without solved cases the report says so, what only they could tell is not verifiable, and nothing that was broken or open becomes met.
func TestRulesOnStatedDataAlone(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	d := copiesOfDemo(t, 24)
	options := &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}
	ask := func(stated bool, d *skidrulev1.Design) *skidrulev1.Report {
		o := proto.CloneOf(options)
		o.StatedOnly = stated
		report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: o})
		require.NoError(t, err)
		return report
	}
	solved, stated := ask(false, d), ask(true, d)
	assert.Empty(t, solved.GetCoverage().GetUnsolvedBecause())
	assert.Equal(t, "rules on stated data alone were asked for", stated.GetCoverage().GetUnsolvedBecause())
	assert.Equal(t, solved.GetCoverage().GetRules(), stated.GetCoverage().GetRules())

	status := func(r *skidrulev1.Report, rule string) map[string]bool {
		out := map[string]bool{}
		for _, o := range r.GetOutcomes() {
			if o.GetRuleId() == rule {
				out[o.GetStatus().String()] = true
			}
		}
		return out
	}
	needs := 0
	for _, id := range e.Book().IDs() {
		was, is := status(solved, id), status(stated, id)
		const met, open = "OUTCOME_STATUS_MET", "OUTCOME_STATUS_NOT_VERIFIABLE"
		if is[open] && !was[open] {
			needs++
		}
		if is[met] {
			assert.True(t, was[met], "%s is met on stated data and not on solved cases", id)
		}
	}
	assert.Positive(t, needs, "some rule asks for solved cases")

	// Skids side by side are solved one by one; neither one of too many components nor too many of them are.
	assert.Empty(t, ask(false, copiesOfDemo(t, 450)).GetCoverage().GetUnsolvedBecause())
	assert.Empty(t, ask(false, joined(copiesOfDemo(t, 450))).GetCoverage().GetUnsolvedBecause(), "a signal carries no water")
	row := &skidrulev1.Design{Lines: []*skidrulev1.Line{{Tag: "W-1"}}}
	for i := range 401 {
		valve := &skidrulev1.Component{Tag: fmt.Sprintf("HV-%d", i), Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{}}}
		row.Components = append(row.Components, valve)
		row.Lines[0].Route = append(row.Lines[0].Route, &skidrulev1.RouteStop{Tag: valve.GetTag()})
	}
	assert.Contains(t, ask(false, row).GetCoverage().GetUnsolvedBecause(), "lines join 401 components, and a check solves up to 400 that are joined")
	assert.Contains(t, ask(false, copiesOfDemo(t, 4001)).GetCoverage().GetUnsolvedBecause(), "a check solves plants of up to 4000")
}
