package service_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Plans and lists come with the cautions; what is asked for wrongly is INVALID_ARGUMENT, what is too large RESOURCE_EXHAUSTED or
// INVALID_ARGUMENT as for a check.
func TestUpkeepAndListsOverGRPC(t *testing.T) {
	o := options()
	o.Limits.Components = 2
	conn := serve(t, smallEngine(t), o)
	upkeep, lists := skidrulev1.NewUpkeepServiceClient(conn), skidrulev1.NewScheduleServiceClient(conn)
	design := &skidrulev1.Design{Name: "Two parts", Components: []*skidrulev1.Component{
		{Tag: "GF-1", Spec: &skidrulev1.Component_GasFilter{GasFilter: &skidrulev1.GasFilter{}}},
		{Tag: "HV-1", Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{}}},
	}, Lines: []*skidrulev1.Line{{Tag: "G-1", Route: []*skidrulev1.RouteStop{{Tag: "HV-1"}, {Tag: "GF-1"}}}}}
	ctx := context.Background()
	plan, err := upkeep.PlanUpkeep(ctx, &skidrulev1.PlanUpkeepRequest{Design: design})
	require.NoError(t, err)
	assert.Len(t, plan.GetPlan().GetRemovals(), 2)
	assert.NotEmpty(t, plan.GetPlan().GetCautions())
	book, err := lists.ListDesign(ctx, &skidrulev1.ListDesignRequest{Design: design})
	require.NoError(t, err)
	assert.Len(t, book.GetBook().GetSchedules(), 7)
	assert.NotEmpty(t, book.GetBook().GetCautions())

	for name, call := range map[string]func() error{
		"no design of a plan": func() error {
			_, err := upkeep.PlanUpkeep(ctx, &skidrulev1.PlanUpkeepRequest{})
			return err
		},
		"no design of lists": func() error {
			_, err := lists.ListDesign(ctx, &skidrulev1.ListDesignRequest{})
			return err
		},
		"unknown module": func() error {
			_, err := upkeep.PlanUpkeep(ctx, &skidrulev1.PlanUpkeepRequest{Design: design, ModuleTags: []string{"GF-2"}})
			return err
		},
		"unknown list": func() error {
			_, err := lists.ListDesign(ctx, &skidrulev1.ListDesignRequest{Design: design, Lists: []string{"walves"}})
			return err
		},
	} {
		assert.Equal(t, codes.InvalidArgument, status.Code(call()), name)
	}
	design.Components = append(design.Components, &skidrulev1.Component{Tag: "HV-2", Spec: &skidrulev1.Component_HandValve{HandValve: &skidrulev1.HandValve{}}})
	_, err = upkeep.PlanUpkeep(ctx, &skidrulev1.PlanUpkeepRequest{Design: design})
	assert.Contains(t, []codes.Code{codes.ResourceExhausted, codes.InvalidArgument}, status.Code(err))
	_, err = lists.ListDesign(ctx, &skidrulev1.ListDesignRequest{Design: design})
	assert.Contains(t, []codes.Code{codes.ResourceExhausted, codes.InvalidArgument}, status.Code(err))

	ended, cancel := context.WithCancel(ctx)
	cancel()
	_, err = upkeep.PlanUpkeep(ended, &skidrulev1.PlanUpkeepRequest{Design: design})
	assert.Equal(t, codes.Canceled, status.Code(err))
}
