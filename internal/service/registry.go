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

// doors lists every service. A new one is one line here: limits, tokens, panics, errors, logs, telemetry, health and the
// description of the HTTP door come by themselves.
func (s *Server) doors() []door {
	return []door{
		{skidrulev1.CheckService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterCheckServiceServer(r, s.check) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewCheckServiceHandler(webService{s.check}, o...)
			}},
		{skidrulev1.RuleService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterRuleServiceServer(r, s.rules) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewRuleServiceHandler(s.rules, o...)
			}},
		{skidrulev1.CalcService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterCalcServiceServer(r, s.calc) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewCalcServiceHandler(s.calc, o...)
			}},
		{skidrulev1.DrawingService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterDrawingServiceServer(r, s.drawing) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewDrawingServiceHandler(s.drawing, o...)
			}},
		{skidrulev1.SolveService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterSolveServiceServer(r, s.solve) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewSolveServiceHandler(s.solve, o...)
			}},
		{skidrulev1.CommissionService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterCommissionServiceServer(r, s.commission) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewCommissionServiceHandler(s.commission, o...)
			}},
		{skidrulev1.DraftService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterDraftServiceServer(r, s.draft) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewDraftServiceHandler(s.draft, o...)
			}},
		{skidrulev1.ChooseService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterChooseServiceServer(r, s.choose) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewChooseServiceHandler(s.choose, o...)
			}},
		{skidrulev1.UpkeepService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterUpkeepServiceServer(r, s.upkeep) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewUpkeepServiceHandler(s.upkeep, o...)
			}},
		{skidrulev1.ScheduleService_ServiceDesc.ServiceName,
			func(r grpc.ServiceRegistrar) { skidrulev1.RegisterScheduleServiceServer(r, s.schedule) },
			func(o ...connect.HandlerOption) (string, http.Handler) {
				return skidrulev1connect.NewScheduleServiceHandler(s.schedule, o...)
			}},
	}
}
