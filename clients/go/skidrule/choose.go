package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Choose asks for the catalogue parts with which a design meets every rule.
func (c *Client) Choose(ctx context.Context, request *skidrulev1.ChoosePartsRequest) (*skidrulev1.PartChoices, error) {
	answer, err := skidrulev1.NewChooseServiceClient(c.conn).ChooseParts(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetChoices(), nil
}
