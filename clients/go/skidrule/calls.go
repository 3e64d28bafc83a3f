package skidrule

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Check asks for the report about a design.
func (c *Client) Check(ctx context.Context, request *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
	answer, err := skidrulev1.NewCheckServiceClient(c.conn).CheckDesign(ctx, request)
	return answer.GetReport(), err
}

// Compare asks what changed between two revisions of a design. The paths of an *InvalidError begin with old_design or
// new_design where one of them is unusable.
func (c *Client) Compare(ctx context.Context, request *skidrulev1.CompareDesignsRequest) (*skidrulev1.Comparison, error) {
	answer, err := skidrulev1.NewCheckServiceClient(c.conn).CompareDesigns(ctx, request)
	return answer.GetComparison(), err
}

// Rule gives one rule of the server with its examples.
func (c *Client) Rule(ctx context.Context, id string) (*skidrulev1.Rule, error) {
	answer, err := skidrulev1.NewRuleServiceClient(c.conn).GetRule(ctx, &skidrulev1.GetRuleRequest{Id: id})
	return answer.GetRule(), err
}

// Rules gives all rules of the server in order of id, without their examples; of one topic where topic is not empty.
func (c *Client) Rules(ctx context.Context, topic string) ([]*skidrulev1.Rule, error) {
	var all []*skidrulev1.Rule
	request := &skidrulev1.ListRulesRequest{PageSize: 1000, Topic: topic}
	for {
		answer, err := skidrulev1.NewRuleServiceClient(c.conn).ListRules(ctx, request)
		if err != nil {
			return nil, err
		}
		all = append(all, answer.GetRules()...)
		if answer.GetNextPageToken() == "" {
			return all, nil
		}
		request.PageToken = answer.GetNextPageToken()
	}
}

// Calculations describes the calculations of those names, or all, in order of name.
func (c *Client) Calculations(ctx context.Context, names ...string) ([]*skidrulev1.Calculation, error) {
	answer, err := skidrulev1.NewCalcServiceClient(c.conn).ListCalculations(ctx, &skidrulev1.ListCalculationsRequest{Names: names})
	return answer.GetCalculations(), err
}

// Calculate runs one calculation, once or along one input.
func (c *Client) Calculate(ctx context.Context, request *skidrulev1.CalculateRequest) (*skidrulev1.CalculateResponse, error) {
	return skidrulev1.NewCalcServiceClient(c.conn).Calculate(ctx, request)
}

// Solve asks for the pressures and flows of a design.
func (c *Client) Solve(ctx context.Context, request *skidrulev1.SolveDesignRequest) (*skidrulev1.Solution, error) {
	answer, err := skidrulev1.NewSolveServiceClient(c.conn).SolveDesign(ctx, request)
	return answer.GetSolution(), err
}

// Draw asks for the sheets of a drawing.
func (c *Client) Draw(ctx context.Context, request *skidrulev1.DrawDesignRequest) ([]*skidrulev1.DrawingPage, error) {
	answer, err := skidrulev1.NewDrawingServiceClient(c.conn).DrawDesign(ctx, request)
	return answer.GetPages(), err
}

// Choose asks for the catalogue parts with which a design meets every rule.
func (c *Client) Choose(ctx context.Context, request *skidrulev1.ChoosePartsRequest) (*skidrulev1.PartChoices, error) {
	answer, err := skidrulev1.NewChooseServiceClient(c.conn).ChooseParts(ctx, request)
	return answer.GetChoices(), err
}

// Draft asks for the first design of a plant. The error is an *InvalidError where the demand cannot be met; each violation says
// what would be right.
func (c *Client) Draft(ctx context.Context, request *skidrulev1.DraftDesignRequest) (*skidrulev1.Draft, error) {
	answer, err := skidrulev1.NewDraftServiceClient(c.conn).DraftDesign(ctx, request)
	return answer.GetDraft(), err
}

// MakeCard asks what the instruments of a design should show.
func (c *Client) MakeCard(ctx context.Context, request *skidrulev1.MakeCardRequest) (*skidrulev1.CommissioningCard, error) {
	answer, err := skidrulev1.NewCommissionServiceClient(c.conn).MakeCard(ctx, request)
	return answer.GetCard(), err
}

// Diagnose asks what explains readings taken on site.
func (c *Client) Diagnose(ctx context.Context, request *skidrulev1.DiagnoseRequest) (*skidrulev1.Diagnosis, error) {
	answer, err := skidrulev1.NewCommissionServiceClient(c.conn).Diagnose(ctx, request)
	return answer.GetDiagnosis(), err
}

// PlanUpkeep asks what of a design wears when and how its modules are taken out.
func (c *Client) PlanUpkeep(ctx context.Context, request *skidrulev1.PlanUpkeepRequest) (*skidrulev1.UpkeepPlan, error) {
	answer, err := skidrulev1.NewUpkeepServiceClient(c.conn).PlanUpkeep(ctx, request)
	return answer.GetPlan(), err
}

// List asks for lists of what stands in a design.
func (c *Client) List(ctx context.Context, request *skidrulev1.ListDesignRequest) (*skidrulev1.ScheduleBook, error) {
	answer, err := skidrulev1.NewScheduleServiceClient(c.conn).ListDesign(ctx, request)
	return answer.GetBook(), err
}
