package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Draw asks for the sheets of a drawing.
func (c *Client) Draw(ctx context.Context, request *skidrulev1.DrawDesignRequest) ([]*skidrulev1.DrawingPage, error) {
	answer, err := skidrulev1.NewDrawingServiceClient(c.conn).DrawDesign(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetPages(), nil
}
