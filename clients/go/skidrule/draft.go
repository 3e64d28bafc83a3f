package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Draft asks for the first design of a plant. The error is an *InvalidError where the demand cannot be met; each violation says
// what would be right.
func (c *Client) Draft(ctx context.Context, request *skidrulev1.DraftDesignRequest) (*skidrulev1.Draft, error) {
	answer, err := skidrulev1.NewDraftServiceClient(c.conn).DraftDesign(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetDraft(), nil
}
