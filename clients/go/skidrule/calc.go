package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Calculations describes the calculations of those names, or all, in order of name.
func (c *Client) Calculations(ctx context.Context, names ...string) ([]*skidrulev1.Calculation, error) {
	answer, err := skidrulev1.NewCalcServiceClient(c.conn).ListCalculations(ctx, &skidrulev1.ListCalculationsRequest{Names: names})
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetCalculations(), nil
}

// Calculate runs one calculation, once or along one input.
func (c *Client) Calculate(ctx context.Context, request *skidrulev1.CalculateRequest) (*skidrulev1.CalculateResponse, error) {
	answer, err := skidrulev1.NewCalcServiceClient(c.conn).Calculate(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer, nil
}
