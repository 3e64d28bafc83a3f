package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// MakeCard asks what the instruments of a design should show.
func (c *Client) MakeCard(ctx context.Context, request *skidrulev1.MakeCardRequest) (*skidrulev1.CommissioningCard, error) {
	answer, err := skidrulev1.NewCommissionServiceClient(c.conn).MakeCard(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetCard(), nil
}

// Diagnose asks what explains readings taken on site.
func (c *Client) Diagnose(ctx context.Context, request *skidrulev1.DiagnoseRequest) (*skidrulev1.Diagnosis, error) {
	answer, err := skidrulev1.NewCommissionServiceClient(c.conn).Diagnose(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetDiagnosis(), nil
}
