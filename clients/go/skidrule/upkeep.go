package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// PlanUpkeep asks what of a design wears when and how its modules are taken out.
func (c *Client) PlanUpkeep(ctx context.Context, request *skidrulev1.PlanUpkeepRequest) (*skidrulev1.UpkeepPlan, error) {
	answer, err := skidrulev1.NewUpkeepServiceClient(c.conn).PlanUpkeep(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetPlan(), nil
}

// List asks for lists of what stands in a design.
func (c *Client) List(ctx context.Context, request *skidrulev1.ListDesignRequest) (*skidrulev1.ScheduleBook, error) {
	answer, err := skidrulev1.NewScheduleServiceClient(c.conn).ListDesign(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetBook(), nil
}
