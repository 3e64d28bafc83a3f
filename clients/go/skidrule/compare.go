package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Compare asks what changed between two revisions of a design. The paths of an *InvalidError begin with old_design or
// new_design where one of them is unusable.
func (c *Client) Compare(ctx context.Context, request *skidrulev1.CompareDesignsRequest) (*skidrulev1.Comparison, error) {
	answer, err := c.check.CompareDesigns(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetComparison(), nil
}
