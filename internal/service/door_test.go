package service_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"connectrpc.com/connect"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
	"github.com/skidrule/skidrule/proto/skidrule/v1/skidrulev1connect"
)

// serveWeb starts the HTTP door on a free port of this machine and gives its address.
func serveWeb(t testing.TB, e *engine.Engine, o service.Options) string {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- service.New(e, o).ServeWeb(ctx, listener) }()
	t.Cleanup(func() {
		stop()
		assert.NoError(t, <-done)
	})
	scheme := "http://"
	if o.TLS != nil {
		scheme = "https://"
	}
	return scheme + listener.Addr().String()
}

// twoWayClient speaks HTTP/2 without encryption, as two-way streams need.
func twoWayClient() *http.Client {
	protocols := &http.Protocols{}
	protocols.SetUnencryptedHTTP2(true)
	return &http.Client{Transport: &http.Transport{Protocols: protocols}}
}

func post(t *testing.T, url, method, body string, header map[string]string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(http.MethodPost, url+method, strings.NewReader(body))
	require.NoError(t, err)
	r.Header.Set("Content-Type", "application/json")
	for k, v := range header {
		r.Header.Set(k, v)
	}
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer, string(data)
}

const checkDesign = "/skidrule.v1.CheckService/CheckDesign"

// Every protocol of the HTTP door gives the report that the engine gives.
func TestEveryProtocolGivesTheSameReport(t *testing.T) {
	e := smallEngine(t)
	url := serveWeb(t, e, options())
	request := &skidrulev1.CheckDesignRequest{Design: design(t), Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}}
	report, err := e.Check(context.Background(), request)
	require.NoError(t, err)
	stable := proto.MarshalOptions{Deterministic: true}
	want, err := stable.Marshal(report)
	require.NoError(t, err)
	same := func(got *skidrulev1.Report, name string) {
		data, err := stable.Marshal(got)
		require.NoError(t, err)
		assert.Equal(t, want, data, name)
	}

	body, err := protojson.Marshal(request)
	require.NoError(t, err)
	answer, text := post(t, url, checkDesign, string(body), nil)
	require.Equal(t, http.StatusOK, answer.StatusCode, text)
	plain := &skidrulev1.CheckDesignResponse{}
	require.NoError(t, protojson.Unmarshal([]byte(text), plain))
	same(plain.GetReport(), "JSON")

	for name, option := range map[string]connect.ClientOption{"gRPC-Web": connect.WithGRPCWeb(), "gRPC": connect.WithGRPC(), "binary": connect.WithInterceptors()} {
		got, err := skidrulev1connect.NewCheckServiceClient(twoWayClient(), url, option).CheckDesign(context.Background(), request)
		require.NoError(t, err, name)
		same(got.GetReport(), name)
	}

	stream, err := skidrulev1connect.NewCheckServiceClient(twoWayClient(), url).CheckDesigns(context.Background())
	require.NoError(t, err)
	require.NoError(t, stream.Send(&skidrulev1.CheckDesignsRequest{RequestId: "a", Design: request.GetDesign(), Options: request.GetOptions()}))
	one, err := stream.Receive()
	require.NoError(t, err)
	assert.Equal(t, "a", one.GetRequestId())
	same(one.GetReport(), "batch")
	require.NoError(t, stream.CloseRequest())
	_, err = stream.Receive()
	assert.ErrorIs(t, err, io.EOF)

	editing, err := skidrulev1connect.NewCheckServiceClient(twoWayClient(), url).EditDesign(context.Background())
	require.NoError(t, err)
	require.NoError(t, editing.Send(&skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Start{Start: &skidrulev1.EditStart{Design: request.GetDesign(), Options: request.GetOptions()}}}))
	first, err := editing.Receive()
	require.NoError(t, err)
	same(first.GetReport(), "editing")
	require.NoError(t, editing.CloseRequest())
}

func TestErrorsOverHTTP(t *testing.T) {
	o := options()
	o.Limits.Components, o.Limits.MessageBytes = 20, 20_000
	url := serveWeb(t, smallEngine(t), o)
	bad := design(t)
	bad.Components[0].Part = "nobody/nothing"
	many := &skidrulev1.Design{Components: make([]*skidrulev1.Component, 21)}
	for i := range many.Components {
		many.Components[i] = &skidrulev1.Component{}
	}
	for _, c := range []struct {
		design *skidrulev1.Design
		code   string
		reason string
	}{
		{nil, "invalid_argument", service.ReasonInvalidRequest},
		{bad, "invalid_argument", service.ReasonInvalidDesign},
		{many, "resource_exhausted", service.ReasonLimitExceeded},
		{&skidrulev1.Design{Description: strings.Repeat("x", 25_000)}, "resource_exhausted", service.ReasonLimitExceeded},
	} {
		body, err := protojson.Marshal(&skidrulev1.CheckDesignRequest{Design: c.design})
		require.NoError(t, err)
		answer, text := post(t, url, checkDesign, string(body), nil)
		assert.NotEqual(t, http.StatusOK, answer.StatusCode)
		var told struct{ Code, Message string }
		require.NoError(t, json.Unmarshal([]byte(text), &told), text)
		assert.Equal(t, c.code, told.Code)
		_, err = skidrulev1connect.NewCheckServiceClient(http.DefaultClient, url).CheckDesign(context.Background(), &skidrulev1.CheckDesignRequest{Design: c.design})
		var known *connect.Error
		require.ErrorAs(t, err, &known)
		reasons := ""
		for _, d := range known.Details() {
			m, err := d.Value()
			require.NoError(t, err)
			if info, ok := m.(*errdetails.ErrorInfo); ok {
				reasons += info.GetReason()
			}
		}
		assert.Equal(t, c.reason, reasons)
	}
	for name, body := range map[string]string{"no JSON": "{", "an unknown field": `{"desing": {}}`, "a wrong type": `{"design": 7}`, "far too long": `{"design": {"description": "` + strings.Repeat("x", 100_000) + `"}}`} {
		answer, text := post(t, url, checkDesign, body, nil)
		assert.GreaterOrEqual(t, answer.StatusCode, 400, name)
		assert.Less(t, answer.StatusCode, 500, name+text)
	}
	answer, err := http.Get(url + "/healthz")
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
}

// Only pages of the origins that were named may call from a browser.
func TestOrigins(t *testing.T) {
	o := options()
	o.Origins = []string{"https://plans.example"}
	for _, c := range []struct {
		origins []string
		origin  string
		want    string
	}{
		{o.Origins, "https://plans.example", "https://plans.example"},
		{o.Origins, "https://other.example", ""},
		{nil, "https://plans.example", ""},
	} {
		o.Origins = c.origins
		url := serveWeb(t, smallEngine(t), o)
		answer, _ := post(t, url, "/skidrule.v1.RuleService/ListRules", "{}", map[string]string{"Origin": c.origin})
		assert.Equal(t, c.want, answer.Header.Get("Access-Control-Allow-Origin"))
		r, err := http.NewRequest(http.MethodOptions, url+checkDesign, nil)
		require.NoError(t, err)
		r.Header.Set("Origin", c.origin)
		r.Header.Set("Access-Control-Request-Method", "POST")
		r.Header.Set("Access-Control-Request-Headers", "content-type,x-grpc-web")
		preflight, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		preflight.Body.Close()
		assert.Equal(t, c.want, preflight.Header.Get("Access-Control-Allow-Origin"))
	}
}

// A caller over HTTP that goes away stops the work.
func TestAStreamOverHTTPEndsWithItsCaller(t *testing.T) {
	url := serveWeb(t, smallEngine(t), options())
	ctx, cancel := context.WithCancel(context.Background())
	stream, err := skidrulev1connect.NewCheckServiceClient(twoWayClient(), url).CheckDesigns(ctx)
	require.NoError(t, err)
	require.NoError(t, stream.Send(&skidrulev1.CheckDesignsRequest{Design: design(t)}))
	_, err = stream.Receive()
	require.NoError(t, err)
	begin := time.Now()
	cancel()
	_, err = stream.Receive()
	assert.Equal(t, connect.CodeCanceled, connect.CodeOf(err))
	assert.Less(t, time.Since(begin), time.Second)
	assert.False(t, errors.Is(err, io.EOF))
	assert.False(t, bytes.Contains([]byte(err.Error()), []byte("internal")))
}

// What gRPC answers, HTTP answers too.
func TestEveryMethodIsAtBothDoors(t *testing.T) {
	url := serveWeb(t, smallEngine(t), options())
	services := reflected(t, serve(t, smallEngine(t), options()))
	found := 0
	for _, name := range services {
		d, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName(name))
		if err != nil || !strings.HasPrefix(name, "skidrule.") {
			continue
		}
		methods := d.(protoreflect.ServiceDescriptor).Methods()
		for i := range methods.Len() {
			found++
			if methods.Get(i).IsStreamingClient() {
				continue
			}
			answer, text := post(t, url, "/"+name+"/"+string(methods.Get(i).Name()), "{}", nil)
			assert.Equal(t, "application/json", answer.Header.Get("Content-Type")[:16], "%s: %s", methods.Get(i).FullName(), text)
			assert.NotContains(t, text, "unimplemented", methods.Get(i).FullName())
		}
	}
	assert.Greater(t, found, 5)
}
