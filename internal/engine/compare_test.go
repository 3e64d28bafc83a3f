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

func TestCompare(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	wrong, found := reversed(t)
	clean := cleanByName(t)[wrong.GetName()].design
	rule := found.GetRuleId()
	compare := func(before, after *skidrulev1.Design) *skidrulev1.Comparison {
		t.Helper()
		c, err := e.Compare(context.Background(), &skidrulev1.CompareDesignsRequest{OldDesign: before, NewDesign: after, Options: &skidrulev1.CheckOptions{Only: []string{rule}}})
		require.NoError(t, err)
		return c
	}
	same := compare(wrong, wrong)
	assert.Len(t, same.GetUnchangedFindings(), 1)
	assert.Empty(t, same.GetNewFindings())
	assert.Empty(t, same.GetGoneFindings())
	assert.Empty(t, same.GetNewlyUnverified())

	made := compare(clean, wrong)
	require.Len(t, made.GetNewFindings(), 1)
	assert.Equal(t, found.GetFingerprint(), made.GetNewFindings()[0].GetFinding().GetFingerprint())
	assert.NotEqual(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN, made.GetNewFindings()[0].GetOtherStatus())
	assert.Empty(t, made.GetGoneFindings())

	mended := compare(wrong, clean)
	require.Len(t, mended.GetGoneFindings(), 1)
	assert.Equal(t, made.GetNewFindings()[0].GetOtherStatus(), mended.GetGoneFindings()[0].GetOtherStatus())
	assert.Empty(t, mended.GetNewFindings())

	// Without the part and the line through it there is nothing to say any more.
	moved := proto.CloneOf(wrong)
	moved.Name = "another"
	assert.Len(t, compare(wrong, moved).GetUnchangedFindings(), 1)
}

// TestCompareTellsFindingsThatOnlyLackData asks that a finding which is gone because its data is gone does not pass for mended.
func TestCompareTellsFindingsThatOnlyLackData(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	shown := 0
	for _, m := range mistakes {
		bare := proto.CloneOf(m.design)
		for _, c := range bare.GetComponents() {
			c.MaxPressurePaGauge = nil
			if c.GetSpec() != nil {
				c.Part = ""
			}
		}
		c, err := e.Compare(context.Background(), &skidrulev1.CompareDesignsRequest{OldDesign: m.design, NewDesign: bare, Options: &skidrulev1.CheckOptions{Only: []string{"ratings"}}})
		require.NoError(t, err)
		for _, f := range c.GetGoneFindings() {
			for _, o := range c.GetNewlyUnverified() {
				assert.NotContains(t, o.GetCaseIds(), "", "a rule that does not depend on cases names none")
			}
			if f.GetOtherStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
				assert.NotEmpty(t, f.GetOtherMissing())
				assert.NotEmpty(t, c.GetNewlyUnverified())
				shown++
			}
		}
		if shown > 2 {
			return
		}
	}
	assert.Positive(t, shown)
}

func TestCompareNamesTheUnusableDesign(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	good, _ := reversed(t)
	bad := proto.CloneOf(good)
	bad.Components = append(bad.Components, proto.CloneOf(bad.GetComponents()[0]))
	for field, request := range map[string]*skidrulev1.CompareDesignsRequest{
		"old_design.": {OldDesign: bad, NewDesign: good},
		"new_design.": {OldDesign: good, NewDesign: bad},
		"new_design":  {OldDesign: good},
	} {
		_, err := e.Compare(context.Background(), request)
		var wrong *engine.RequestError
		require.ErrorAs(t, err, &wrong)
		assert.Contains(t, wrong.Violations[0].Path, field)
		assert.False(t, wrong.Violations[0].InDesign)
	}
}
