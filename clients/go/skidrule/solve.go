package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Solve asks for the pressures and flows of a design.
func (c *Client) Solve(ctx context.Context, request *skidrulev1.SolveDesignRequest) (*skidrulev1.Solution, error) {
	answer, err := skidrulev1.NewSolveServiceClient(c.conn).SolveDesign(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetSolution(), nil
}
