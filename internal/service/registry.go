package service

import (
	"net/http"

	"connectrpc.com/connect"
	"google.golang.org/grpc"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/openapi"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
	"github.com/skidrule/skidrule/proto/skidrule/v1/skidrulev1connect"
)

// door is one service at both ways in: gRPC, and JSON and gRPC-Web over HTTP.
type door struct {
	// name of the service, as skidrule.v1.CheckService.
	name string
	grpc func(grpc.ServiceRegistrar)
	web  func(...connect.HandlerOption) (string, http.Handler)
}

// OpenAPI describes the HTTP door of this program as an OpenAPI document.
func OpenAPI() ([]byte, error) {
	var names []string
	for _, d := range (&Server{}).doors() {
		names = append(names, d.name)
	}
	return openapi.Document(names, engine.Version())
}

// doorOf is the door of a service by what was generated for it, with what answers at each of the ways in.
func doorOf[G, W any](name string, register func(grpc.ServiceRegistrar, G), handle func(W, ...connect.HandlerOption) (string, http.Handler), g G, w W) door {
	return door{name, func(r grpc.ServiceRegistrar) { register(r, g) }, func(o ...connect.HandlerOption) (string, http.Handler) { return handle(w, o...) }}
}

// doors lists every service. A new one is one entry here: limits, tokens, panics, errors, logs, telemetry, health and the
// description of the HTTP door come by themselves.
func (s *Server) doors() []door {
	var (
		rules      = &ruleService{engine: s.core.engine}
		calc       = &calcService{}
		drawing    = &drawingService{core: s.core}
		solve      = &solveService{core: s.core}
		commission = &commissionService{core: s.core}
		draft      = &draftService{core: s.core}
		choose     = &chooseService{core: s.core}
		upkeep     = &upkeepService{core: s.core}
		schedule   = &scheduleService{core: s.core}
	)
	return []door{
		doorOf[skidrulev1.CheckServiceServer, skidrulev1connect.CheckServiceHandler](skidrulev1connect.CheckServiceName,
			skidrulev1.RegisterCheckServiceServer, skidrulev1connect.NewCheckServiceHandler, s.check, webService{s.check}),
		doorOf[skidrulev1.RuleServiceServer, skidrulev1connect.RuleServiceHandler](skidrulev1connect.RuleServiceName,
			skidrulev1.RegisterRuleServiceServer, skidrulev1connect.NewRuleServiceHandler, rules, rules),
		doorOf[skidrulev1.CalcServiceServer, skidrulev1connect.CalcServiceHandler](skidrulev1connect.CalcServiceName,
			skidrulev1.RegisterCalcServiceServer, skidrulev1connect.NewCalcServiceHandler, calc, calc),
		doorOf[skidrulev1.DrawingServiceServer, skidrulev1connect.DrawingServiceHandler](skidrulev1connect.DrawingServiceName,
			skidrulev1.RegisterDrawingServiceServer, skidrulev1connect.NewDrawingServiceHandler, drawing, drawing),
		doorOf[skidrulev1.SolveServiceServer, skidrulev1connect.SolveServiceHandler](skidrulev1connect.SolveServiceName,
			skidrulev1.RegisterSolveServiceServer, skidrulev1connect.NewSolveServiceHandler, solve, solve),
		doorOf[skidrulev1.CommissionServiceServer, skidrulev1connect.CommissionServiceHandler](skidrulev1connect.CommissionServiceName,
			skidrulev1.RegisterCommissionServiceServer, skidrulev1connect.NewCommissionServiceHandler, commission, commission),
		doorOf[skidrulev1.DraftServiceServer, skidrulev1connect.DraftServiceHandler](skidrulev1connect.DraftServiceName,
			skidrulev1.RegisterDraftServiceServer, skidrulev1connect.NewDraftServiceHandler, draft, draft),
		doorOf[skidrulev1.ChooseServiceServer, skidrulev1connect.ChooseServiceHandler](skidrulev1connect.ChooseServiceName,
			skidrulev1.RegisterChooseServiceServer, skidrulev1connect.NewChooseServiceHandler, choose, choose),
		doorOf[skidrulev1.UpkeepServiceServer, skidrulev1connect.UpkeepServiceHandler](skidrulev1connect.UpkeepServiceName,
			skidrulev1.RegisterUpkeepServiceServer, skidrulev1connect.NewUpkeepServiceHandler, upkeep, upkeep),
		doorOf[skidrulev1.ScheduleServiceServer, skidrulev1connect.ScheduleServiceHandler](skidrulev1connect.ScheduleServiceName,
			skidrulev1.RegisterScheduleServiceServer, skidrulev1connect.NewScheduleServiceHandler, schedule, schedule),
	}
}
