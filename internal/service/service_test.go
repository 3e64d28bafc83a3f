package service_test

import (
	"bytes"
	"context"
	"log/slog"
	"math"
	"net"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// smallEngine has two rules of its own, so that the tests do not hang on the built-in ones.
func smallEngine(t *testing.T) *engine.Engine {
	t.Helper()
	e, err := engine.NewWith(os.DirFS("testdata/rules"))
	require.NoError(t, err)
	return e
}

func design(t *testing.T) *skidrulev1.Design { return readDesign(t, "testdata/loop.yaml") }

func readDesign(t testing.TB, path string) *skidrulev1.Design {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read(path, data)
	require.NoError(t, err)
	return f.Design
}

// serve starts a server in memory and gives a connection to it. The server stops with the test.
func serve(t testing.TB, e *engine.Engine, o service.Options) *grpc.ClientConn {
	t.Helper()
	listener := bufconn.Listen(1 << 20)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- service.New(e, o).Serve(ctx, listener) }()
	conn := dial(t, listener)
	t.Cleanup(func() {
		assert.NoError(t, conn.Close())
		stop()
		assert.NoError(t, <-done)
	})
	return conn
}

// dial connects to a server in this process.
func dial(t testing.TB, listener *bufconn.Listener) *grpc.ClientConn {
	t.Helper()
	conn, err := grpc.NewClient("passthrough:///memory", grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }))
	require.NoError(t, err)
	return conn
}

func options() service.Options {
	return service.Options{Limits: service.DefaultLimits(), StopTime: 5 * time.Second, Reflection: true}
}

func TestTheServerAnswersLikeTheEngine(t *testing.T) {
	e := smallEngine(t)
	request := &skidrulev1.CheckDesignRequest{Design: design(t), Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}}
	want, err := e.Check(context.Background(), request)
	require.NoError(t, err)
	require.NotEmpty(t, want.GetFindings())
	got, err := skidrule.New(serve(t, e, options())).Check(context.Background(), request)
	require.NoError(t, err)
	deterministic := proto.MarshalOptions{Deterministic: true}
	wantBytes, err := deterministic.Marshal(want)
	require.NoError(t, err)
	gotBytes, err := deterministic.Marshal(got)
	require.NoError(t, err)
	assert.Equal(t, wantBytes, gotBytes)
}

// details gives the ErrorInfo and the BadRequest of an error.
func details(t *testing.T, err error) (*status.Status, *errdetails.ErrorInfo, *errdetails.BadRequest) {
	t.Helper()
	s, ok := status.FromError(err)
	require.True(t, ok, "%v", err)
	var info *errdetails.ErrorInfo
	var request *errdetails.BadRequest
	for _, d := range s.Details() {
		switch d := d.(type) {
		case *errdetails.ErrorInfo:
			require.Nil(t, info, "one detail of a type at most")
			info = d
		case *errdetails.BadRequest:
			require.Nil(t, request)
			request = d
		}
	}
	require.NotNil(t, info, "every error has an ErrorInfo: %v", err)
	assert.Equal(t, service.Domain, info.GetDomain())
	return s, info, request
}

func TestUnusableRequests(t *testing.T) {
	client := skidrulev1.NewCheckServiceClient(serve(t, smallEngine(t), options()))
	for _, c := range []struct {
		name   string
		change func(*skidrulev1.CheckDesignRequest)
		reason string
		field  string
		want   string
	}{
		{"no design", func(r *skidrulev1.CheckDesignRequest) { r.Design = nil }, service.ReasonInvalidRequest, "design", "no design"},
		{"a route through nothing", func(r *skidrulev1.CheckDesignRequest) { r.Design.Lines[0].Route[1].Tag = "XX-9" }, service.ReasonInvalidDesign, "design.lines.", "XX-9"},
		{"two components of one tag", func(r *skidrulev1.CheckDesignRequest) {
			r.Design.Components = append(r.Design.Components, proto.CloneOf(r.Design.Components[0]))
		}, service.ReasonInvalidDesign, "design.components.", ""},
		{"an infinite number", func(r *skidrulev1.CheckDesignRequest) {
			r.Design.Components[0].MaxPressurePaGauge = proto.Float64(math.Inf(1))
		}, service.ReasonInvalidDesign, "design.components.", "finite"},
		{"no number at all", func(r *skidrulev1.CheckDesignRequest) {
			r.Design.Components[0].MaxPressurePaGauge = proto.Float64(math.NaN())
		}, service.ReasonInvalidDesign, "design.components.", "finite"},
		{"an unknown part", func(r *skidrulev1.CheckDesignRequest) { r.Design.Components[0].Part = "nobody/nothing" }, service.ReasonInvalidDesign, "design.components.", "nobody/nothing"},
		{"an unknown rule", func(r *skidrulev1.CheckDesignRequest) { r.Options.Only = []string{"hous"} }, service.ReasonInvalidRequest, "options.only", "did you mean house?"},
		{"an unknown case", func(r *skidrulev1.CheckDesignRequest) { r.Options.CaseIds = []string{"norml"} }, service.ReasonInvalidRequest, "options.case_ids", "norml"},
		{"a part of infinite rating", func(r *skidrulev1.CheckDesignRequest) {
			r.Options.Catalogue = &skidrulev1.Catalogue{Entries: []*skidrulev1.CatalogueEntry{{Id: "a", Data: &skidrulev1.Component{MaxPressurePaGauge: proto.Float64(math.Inf(1))}}}}
		}, service.ReasonInvalidRequest, "options.catalogue.", "finite"},
		{"a site rule that does not compile", func(r *skidrulev1.CheckDesignRequest) {
			r.Options.SiteRules = []*skidrulev1.Rule{{Id: "site/torn", Title: "t", Condition: "it.max_pressure >=", Severity: skidrulev1.Severity_SEVERITY_ERROR, Subject: skidrulev1.RuleSubject_RULE_SUBJECT_COMPONENT}}
		}, service.ReasonInvalidRequest, "options.site_rules[0]", "site/torn"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := &skidrulev1.CheckDesignRequest{Design: design(t), Options: &skidrulev1.CheckOptions{}}
			c.change(r)
			_, err := client.CheckDesign(context.Background(), r)
			s, info, request := details(t, err)
			assert.Equal(t, codes.InvalidArgument, s.Code())
			assert.Equal(t, c.reason, info.GetReason())
			require.NotEmpty(t, request.GetFieldViolations())
			v := request.GetFieldViolations()[0]
			assert.True(t, strings.HasPrefix(v.GetField(), c.field), v.GetField())
			assert.Contains(t, v.GetDescription(), c.want)
		})
	}
}

// The list of violations is cut where trailers would grow too long, and the rest is counted.
func TestManyViolationsAreCounted(t *testing.T) {
	conn := serve(t, smallEngine(t), options())
	r := &skidrulev1.CheckDesignRequest{Design: design(t)}
	for i := range 500 {
		r.Design.Components = append(r.Design.Components, &skidrulev1.Component{Tag: "Z-" + strconv.Itoa(i), Part: "nobody/part-" + strconv.Itoa(i)})
	}
	_, err := skidrulev1.NewCheckServiceClient(conn).CheckDesign(context.Background(), r)
	s, info, request := details(t, err)
	more, _ := strconv.Atoi(info.GetMetadata()["more"])
	assert.Positive(t, more)
	assert.GreaterOrEqual(t, len(request.GetFieldViolations())+more, 500)
	assert.Less(t, proto.Size(s.Proto()), 8<<10)
	_, err = skidrule.New(conn).Check(context.Background(), r)
	var invalid *skidrule.InvalidError
	require.ErrorAs(t, err, &invalid)
	assert.Equal(t, more, invalid.More)
	assert.True(t, invalid.Violations[0].InDesign)
	assert.True(t, strings.HasPrefix(invalid.Violations[0].Path, "components.Z-"), invalid.Violations[0].Path)
}

func TestLimits(t *testing.T) {
	o := options()
	o.Limits.Components, o.Limits.Lines, o.Limits.SiteRules, o.Limits.CatalogueEntries, o.Limits.RouteStops, o.Limits.Cases = 20, 10, 1, 2, 40, 3
	o.Limits.MessageBytes = 20_000
	client := skidrule.New(serve(t, smallEngine(t), o))
	for _, c := range []struct {
		what    string
		allowed int64
		change  func(*skidrulev1.CheckDesignRequest)
	}{
		{"components", 20, func(r *skidrulev1.CheckDesignRequest) { r.Design.Components = make([]*skidrulev1.Component, 21) }},
		{"lines", 10, func(r *skidrulev1.CheckDesignRequest) { r.Design.Lines = make([]*skidrulev1.Line, 11) }},
		{"route_stops", 40, func(r *skidrulev1.CheckDesignRequest) { r.Design.Lines[0].Route = make([]*skidrulev1.RouteStop, 41) }},
		{"cases", 3, func(r *skidrulev1.CheckDesignRequest) { r.Design.Cases = make([]*skidrulev1.OperatingCase, 4) }},
		{"site_rules", 1, func(r *skidrulev1.CheckDesignRequest) { r.Options.SiteRules = make([]*skidrulev1.Rule, 2) }},
		{"catalogue_entries", 2, func(r *skidrulev1.CheckDesignRequest) {
			r.Options.Catalogue = &skidrulev1.Catalogue{Entries: make([]*skidrulev1.CatalogueEntry, 3)}
		}},
		{"message_bytes", 20_000, func(r *skidrulev1.CheckDesignRequest) { r.Design.Description = strings.Repeat("x", 25_000) }},
	} {
		t.Run(c.what, func(t *testing.T) {
			r := &skidrulev1.CheckDesignRequest{Design: design(t), Options: &skidrulev1.CheckOptions{}}
			c.change(r)
			_, err := client.Check(context.Background(), r)
			var limit *skidrule.LimitError
			require.ErrorAs(t, err, &limit)
			assert.Equal(t, c.what, limit.What)
			assert.Equal(t, c.allowed, limit.Allowed)
			assert.Greater(t, limit.Given, limit.Allowed)
			s, info, _ := details(t, limit.Unwrap())
			assert.Equal(t, codes.ResourceExhausted, s.Code())
			assert.Equal(t, service.ReasonLimitExceeded, info.GetReason())
		})
	}
	t.Run("far too long", func(t *testing.T) {
		r := &skidrulev1.CheckDesignRequest{Design: &skidrulev1.Design{Description: strings.Repeat("x", 100_000)}}
		_, err := client.Check(context.Background(), r)
		var limit *skidrule.LimitError
		require.ErrorAs(t, err, &limit)
		assert.ErrorContains(t, err, "100")
	})
}

func TestTimeIsLimited(t *testing.T) {
	o := options()
	o.Limits.Time = time.Nanosecond
	_, err := skidrulev1.NewCheckServiceClient(serve(t, smallEngine(t), o)).CheckDesign(context.Background(), &skidrulev1.CheckDesignRequest{Design: design(t)})
	s, info, _ := details(t, err)
	assert.Equal(t, codes.DeadlineExceeded, s.Code())
	assert.Equal(t, service.ReasonTooSlow, info.GetReason())
}

func TestRules(t *testing.T) {
	e := smallEngine(t)
	conn := serve(t, e, options())
	client, raw := skidrule.New(conn), skidrulev1.NewRuleServiceClient(conn)
	ctx := context.Background()

	rule, err := client.Rule(ctx, "house/rated-for-five")
	require.NoError(t, err)
	assert.NotEmpty(t, rule.GetExamples())

	_, err = client.Rule(ctx, "house/rated-for-fiv")
	var missing *skidrule.NotFoundError
	require.ErrorAs(t, err, &missing)
	assert.ErrorContains(t, err, "did you mean house/rated-for-five?")
	_, info, _ := details(t, missing.Unwrap())
	assert.Equal(t, service.ReasonRuleNotFound, info.GetReason())

	_, err = raw.GetRule(ctx, &skidrulev1.GetRuleRequest{})
	assert.Equal(t, codes.InvalidArgument, status.Code(err))

	// Pages of one rule give the same list as one page of all.
	var paged []string
	request := &skidrulev1.ListRulesRequest{PageSize: 1}
	for {
		page, err := raw.ListRules(ctx, request)
		require.NoError(t, err)
		require.Len(t, page.GetRules(), 1)
		assert.Empty(t, page.GetRules()[0].GetExamples())
		paged = append(paged, page.GetRules()[0].GetId())
		if request.PageToken = page.GetNextPageToken(); request.PageToken == "" {
			break
		}
	}
	assert.Equal(t, e.Book().IDs(), paged)
	all, err := client.Rules(ctx, "house")
	require.NoError(t, err)
	assert.Len(t, all, len(paged))
	compiled, _ := e.Book().Find(paged[0])
	assert.NotEmpty(t, compiled.Rule.GetExamples(), "the engine's own rule keeps its examples")

	for name, bad := range map[string]*skidrulev1.ListRulesRequest{
		"negative page": {PageSize: -1},
		"foreign token": {PageToken: "?"},
		"token of all":  {PageToken: "eyJhZnRlciI6ImEiLCJ0b3BpYyI6IiJ9", Topic: "house"},
		"unknown topic": {Topic: "hous"},
	} {
		_, err := raw.ListRules(ctx, bad)
		assert.Equal(t, codes.InvalidArgument, status.Code(err), name)
	}
}

func TestHealthAndReflection(t *testing.T) {
	conn := serve(t, smallEngine(t), options())
	ctx := context.Background()
	for _, name := range []string{"", "skidrule.v1.CheckService", "skidrule.v1.RuleService"} {
		answer, err := grpc_health_v1.NewHealthClient(conn).Check(ctx, &grpc_health_v1.HealthCheckRequest{Service: name})
		require.NoError(t, err)
		assert.Equal(t, grpc_health_v1.HealthCheckResponse_SERVING, answer.GetStatus(), name)
	}
	_, err := grpc_health_v1.NewHealthClient(conn).Check(ctx, &grpc_health_v1.HealthCheckRequest{Service: "nothing"})
	assert.Equal(t, codes.NotFound, status.Code(err), "statuses of the library pass unchanged")
	assert.Contains(t, reflected(t, conn), "skidrule.v1.CheckService")

	o := options()
	o.Reflection = false
	stream, err := grpc_reflection_v1.NewServerReflectionClient(serve(t, smallEngine(t), o)).ServerReflectionInfo(ctx)
	require.NoError(t, err)
	_, err = stream.Recv()
	assert.Equal(t, codes.Unimplemented, status.Code(err))
}

// reflected lists the services that reflection shows.
func reflected(t *testing.T, conn *grpc.ClientConn) []string {
	t.Helper()
	stream, err := grpc_reflection_v1.NewServerReflectionClient(conn).ServerReflectionInfo(context.Background())
	require.NoError(t, err)
	require.NoError(t, stream.Send(&grpc_reflection_v1.ServerReflectionRequest{MessageRequest: &grpc_reflection_v1.ServerReflectionRequest_ListServices{}}))
	answer, err := stream.Recv()
	require.NoError(t, err)
	require.NoError(t, stream.CloseSend())
	var names []string
	for _, s := range answer.GetListServicesResponse().GetService() {
		names = append(names, s.GetName())
	}
	return names
}

// A stopping server waits for calls that run, but not longer than the stop time.
func TestStopHasATimeLimit(t *testing.T) {
	listener := bufconn.Listen(1 << 20)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	o := options()
	o.StopTime = 100 * time.Millisecond
	done := make(chan error, 1)
	go func() { done <- service.New(smallEngine(t), o).Serve(ctx, listener) }()
	conn := dial(t, listener)
	defer conn.Close()
	watch, err := grpc_health_v1.NewHealthClient(conn).Watch(context.Background(), &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	first, err := watch.Recv()
	require.NoError(t, err)
	assert.Equal(t, grpc_health_v1.HealthCheckResponse_SERVING, first.GetStatus())

	begin := time.Now()
	stop()
	second, err := watch.Recv()
	require.NoError(t, err)
	assert.Equal(t, grpc_health_v1.HealthCheckResponse_NOT_SERVING, second.GetStatus(), "callers are told before the server goes")
	select {
	case err := <-done:
		assert.NoError(t, err)
		assert.GreaterOrEqual(t, time.Since(begin), o.StopTime)
	case <-time.After(5 * time.Second):
		t.Fatal("the server did not stop")
	}
}

func TestTheLogHoldsNothingOfTheDesign(t *testing.T) {
	var log bytes.Buffer
	o := options()
	o.Log = slog.New(slog.NewTextHandler(&log, nil))
	conn := serve(t, smallEngine(t), o)
	d := design(t)
	d.Name, d.Components[0].Title = "a secret name", "a secret title"
	_, err := skidrule.New(conn).Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	d.Components[0].Part = "a-secret-part"
	_, err = skidrule.New(conn).Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.Error(t, err)
	assert.Contains(t, log.String(), "method=/skidrule.v1.CheckService/CheckDesign code=OK")
	assert.Contains(t, log.String(), "code=InvalidArgument")
	assert.NotContains(t, log.String(), "secret")
	for _, c := range d.GetComponents() {
		assert.NotContains(t, log.String(), c.GetTag())
	}
}

func TestLoopback(t *testing.T) {
	for address, want := range map[string]bool{"127.0.0.1": true, "::1": true, "0.0.0.0": false, "::": false, "192.0.2.1": false} {
		assert.Equal(t, want, service.Loopback(&net.TCPAddr{IP: net.ParseIP(address)}), address)
	}
	assert.True(t, service.Loopback(&net.UnixAddr{Name: "skidrule.sock"}))
}
