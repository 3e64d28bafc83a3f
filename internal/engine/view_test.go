package engine_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// assumedElevation is a clean design of which the elevation of one component is assumed where it was stated, and the path of it.
func assumedElevation(t *testing.T) (*skidrulev1.Design, string) {
	t.Helper()
	d := proto.CloneOf(cleanByName(t)["Brook Hollow hatchery, side stream of loop A"].design)
	c := d.GetComponents()[slices.IndexFunc(d.GetComponents(), func(c *skidrulev1.Component) bool { return c.GetTag() == "P-1" })]
	d.Assumptions = append(d.Assumptions, &skidrulev1.Assumption{Path: "components.P-1.elevation", Low: c.ElevationM, High: c.ElevationM, Reason: "from a sketch"})
	c.ElevationM = nil
	return d, "components.P-1.elevation"
}

// TestViewsDifferInOutcomesAlone asks designs in every view: all but the outcomes is the same, and of these each view has those of the
// full one that it shows.
func TestViewsDifferInOutcomesAlone(t *testing.T) {
	assumed, _ := assumedElevation(t)
	designs := []*skidrulev1.Design{assumed}
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	for _, name := range []string{"single-check-valve", "destruct-too-small"} {
		designs = append(designs, mistakes[name].design)
	}
	three := false
	for _, d := range designs {
		full := checked(t, d, &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL})
		whole := proto.CloneOf(full)
		sizes := map[int]bool{len(full.GetOutcomes()): true}
		for _, view := range []skidrulev1.ReportView{skidrulev1.ReportView_REPORT_VIEW_UNSPECIFIED, skidrulev1.ReportView_REPORT_VIEW_FINDINGS} {
			asked := checked(t, d, &skidrulev1.CheckOptions{View: view})
			assert.True(t, proto.Equal(asked, engine.InView(full, view)), "%s in %s", d.GetName(), view)
			sizes[len(asked.GetOutcomes())] = true
		}
		three = three || len(sizes) == 3
		assert.True(t, proto.Equal(whole, full), "%s: the full report stays as it was", d.GetName())
	}
	assert.True(t, three, "of one design at least each view shows other outcomes")
}

// TestMetOutcomesCountWhatTheyRestOn asks that a met rule that rests on an assumption is counted there in every view.
func TestMetOutcomesCountWhatTheyRestOn(t *testing.T) {
	d, path := assumedElevation(t)
	var want int32
	for _, o := range checked(t, d, &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}).GetOutcomes() {
		if slices.Contains(o.GetAssumed(), path) {
			assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, o.GetStatus(), o.GetRuleId())
			want++
		}
	}
	require.Positive(t, want)
	for view := range skidrulev1.ReportView_name {
		uses := checked(t, d, &skidrulev1.CheckOptions{View: skidrulev1.ReportView(view)}).GetAssumptions()
		require.Len(t, uses, 1)
		assert.Equal(t, want, uses[0].GetOutcomes(), skidrulev1.ReportView(view))
	}
}
