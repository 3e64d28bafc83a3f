package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/answer"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// chooseService chooses parts.
type chooseService struct {
	skidrulev1.UnimplementedChooseServiceServer
	core
}

// ChooseParts chooses the parts of one design.
func (s *chooseService) ChooseParts(ctx context.Context, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	return admitted(ctx, s.core, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}, r, answer.ChooseParts)
}

// commissionService says what instruments should show, and what their readings tell.
type commissionService struct {
	skidrulev1.UnimplementedCommissionServiceServer
	core
}

// MakeCard makes the card of one design.
func (s *commissionService) MakeCard(ctx context.Context, r *skidrulev1.MakeCardRequest) (*skidrulev1.MakeCardResponse, error) {
	return admitted(ctx, s.core, answer.CheckOf(r), r, answer.MakeCard)
}

// Diagnose diagnoses readings of one design.
func (s *commissionService) Diagnose(ctx context.Context, r *skidrulev1.DiagnoseRequest) (*skidrulev1.DiagnoseResponse, error) {
	return admitted(ctx, s.core, answer.CheckOf(r), r, answer.Diagnose)
}

// draftService writes first designs.
type draftService struct {
	skidrulev1.UnimplementedDraftServiceServer
	core
}

// DraftDesign drafts one design.
func (s *draftService) DraftDesign(ctx context.Context, r *skidrulev1.DraftDesignRequest) (*skidrulev1.DraftDesignResponse, error) {
	return admitted(ctx, s.core, &skidrulev1.CheckDesignRequest{Options: &skidrulev1.CheckOptions{Catalogue: r.GetCatalogue()}}, r, answer.DraftDesign)
}

// drawingService draws designs.
type drawingService struct {
	skidrulev1.UnimplementedDrawingServiceServer
	core
}

// DrawDesign draws one design.
func (s *drawingService) DrawDesign(ctx context.Context, r *skidrulev1.DrawDesignRequest) (*skidrulev1.DrawDesignResponse, error) {
	return admitted(ctx, s.core, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}, r, answer.DrawDesign)
}

// scheduleService lists designs.
type scheduleService struct {
	skidrulev1.UnimplementedScheduleServiceServer
	core
}

// ListDesign lists one design.
func (s *scheduleService) ListDesign(ctx context.Context, r *skidrulev1.ListDesignRequest) (*skidrulev1.ListDesignResponse, error) {
	return admitted(ctx, s.core, answer.CheckOf(r), r, answer.ListDesign)
}

// solveService computes pressures and flows.
type solveService struct {
	skidrulev1.UnimplementedSolveServiceServer
	core
}

// SolveDesign solves the cases of one design.
func (s *solveService) SolveDesign(ctx context.Context, r *skidrulev1.SolveDesignRequest) (*skidrulev1.SolveDesignResponse, error) {
	return admitted(ctx, s.core, answer.CheckOf(r), r, answer.SolveDesign)
}

// upkeepService plans the upkeep of designs.
type upkeepService struct {
	skidrulev1.UnimplementedUpkeepServiceServer
	core
}

// PlanUpkeep plans the upkeep of one design.
func (s *upkeepService) PlanUpkeep(ctx context.Context, r *skidrulev1.PlanUpkeepRequest) (*skidrulev1.PlanUpkeepResponse, error) {
	return admitted(ctx, s.core, answer.CheckOf(r), r, answer.PlanUpkeep)
}
