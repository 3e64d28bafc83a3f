package service

import (
	"context"
	"fmt"

	"github.com/skidrule/skidrule/internal/commission"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// commissionService says what instruments should show, and what their readings tell.
type commissionService struct {
	skidrulev1.UnimplementedCommissionServiceServer
	engine *engine.Engine
	limits Limits
}

// MakeCard makes the card of one design.
func (s *commissionService) MakeCard(ctx context.Context, r *skidrulev1.MakeCardRequest) (*skidrulev1.MakeCardResponse, error) {
	if err := s.limits.admit(ctx, checkOf(r.GetDesign(), r.GetCatalogue())); err != nil {
		return nil, err
	}
	return MakeCard(ctx, s.engine, r)
}

// Diagnose diagnoses readings of one design.
func (s *commissionService) Diagnose(ctx context.Context, r *skidrulev1.DiagnoseRequest) (*skidrulev1.DiagnoseResponse, error) {
	if err := s.limits.admit(ctx, checkOf(r.GetDesign(), r.GetCatalogue())); err != nil {
		return nil, err
	}
	return Diagnose(ctx, s.engine, r)
}

// MakeCard answers as the service does, in this process and without its limits.
func MakeCard(ctx context.Context, e *engine.Engine, r *skidrulev1.MakeCardRequest) (_ *skidrulev1.MakeCardResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, checkOf(r.GetDesign(), r.GetCatalogue()))
	if err != nil {
		return nil, err
	}
	asked, err := casesOf(w.Cases, "case_ids", r.GetCaseIds()...)
	if err != nil {
		return nil, err
	}
	s, err := commission.New(ctx, w)
	if err != nil {
		return nil, err
	}
	card, err := s.Card(ctx, asked)
	if err != nil {
		return nil, err
	}
	card.Cautions = engine.Cautions()
	return &skidrulev1.MakeCardResponse{Card: card}, ctx.Err()
}

// Diagnose answers as the service does, in this process and without its limits.
func Diagnose(ctx context.Context, e *engine.Engine, r *skidrulev1.DiagnoseRequest) (_ *skidrulev1.DiagnoseResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, checkOf(r.GetDesign(), r.GetCatalogue()))
	if err != nil {
		return nil, err
	}
	at, err := diagnosedCase(w, r.GetCaseId())
	if err != nil {
		return nil, err
	}
	s, err := commission.New(ctx, w)
	if err != nil {
		return nil, err
	}
	diagnosis, problems, err := s.Diagnose(ctx, at, r.GetReadings())
	if err != nil {
		return nil, err
	}
	if len(problems) > 0 {
		bad := &engine.RequestError{}
		for _, p := range problems {
			path := "readings"
			if p.Index >= 0 {
				path = fmt.Sprintf("readings[%d]", p.Index)
			}
			bad.Violations = append(bad.Violations, engine.Violation{Path: path, Message: p.Message})
		}
		return nil, bad
	}
	diagnosis.Cautions = engine.Cautions()
	return &skidrulev1.DiagnoseResponse{Diagnosis: diagnosis}, ctx.Err()
}

// diagnosedCase finds the case that readings were taken in: one that can occur and has one state.
func diagnosedCase(w *fact.World, id string) (int, error) {
	if id == "" {
		id = operate.Normal.ID()
	}
	asked, err := casesOf(w.Cases, "case_id", id)
	if err != nil {
		return 0, err
	}
	refuse := func(message, suggestion string) error {
		return &engine.RequestError{Violations: []engine.Violation{{Path: "case_id", Message: message, Suggestion: suggestion}}}
	}
	switch c := &w.Cases[asked[0]]; {
	case c.Excluded != "":
		return 0, refuse("the case "+id+" cannot occur: "+c.Excluded, "name the case that the skid stood in")
	case c.Standard == operate.BarrierFailed:
		return 0, refuse("the case "+id+" takes each barrier as failed in turn and has no state of its own", "readings are taken in one state, such as normal or pump_stopped")
	}
	return asked[0], nil
}
