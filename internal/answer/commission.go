package answer

import (
	"context"
	"fmt"

	"github.com/skidrule/skidrule/internal/commission"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// MakeCard says what the instruments of a design should show in each case.
func MakeCard(ctx context.Context, e *engine.Engine, r *skidrulev1.MakeCardRequest) (_ *skidrulev1.MakeCardResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, CheckOf(r))
	if err != nil {
		return nil, err
	}
	asked, err := engine.NamedCases(w, "case_ids", r.GetCaseIds()...)
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

// Diagnose says what explains readings that were taken of a design.
func Diagnose(ctx context.Context, e *engine.Engine, r *skidrulev1.DiagnoseRequest) (_ *skidrulev1.DiagnoseResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, CheckOf(r))
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
		var bad engine.RequestError
		for _, p := range problems {
			path := "readings"
			if p.Index >= 0 {
				path = fmt.Sprintf("readings[%d]", p.Index)
			}
			bad.Add(path, "", "%s", p.Message)
		}
		return nil, bad.Err()
	}
	diagnosis.Cautions = engine.Cautions()
	return &skidrulev1.DiagnoseResponse{Diagnosis: diagnosis}, ctx.Err()
}

// diagnosedCase finds the case that readings were taken in: one that can occur and has one state.
func diagnosedCase(w *fact.World, id string) (int, error) {
	if id == "" {
		id = operate.Normal.ID()
	}
	asked, err := engine.NamedCases(w, "case_id", id)
	if err != nil {
		return 0, err
	}
	switch c := &w.Cases[asked[0]]; {
	case c.Excluded != "":
		return 0, engine.Refuse("case_id", "name the case that the skid stood in", "the case %s cannot occur: %s", id, c.Excluded)
	case c.Standard == operate.BarrierFailed:
		return 0, engine.Refuse("case_id", "readings are taken in one state, such as normal or pump_stopped", "the case %s takes each barrier as failed in turn and has no state of its own", id)
	}
	return asked[0], nil
}
