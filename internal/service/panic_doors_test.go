package service

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"connectrpc.com/connect"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
	"github.com/skidrule/skidrule/proto/skidrule/v1/skidrulev1connect"
)

// shared is a buffer that many goroutines write.
type shared struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// listening starts both doors of a server on free ports of this machine.
func listening(t *testing.T, s *Server) (*grpc.ClientConn, string) {
	t.Helper()
	var addresses [2]string
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	for i, serve := range []func(context.Context, net.Listener) error{s.Serve, s.ServeWeb} {
		listener, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		addresses[i] = listener.Addr().String()
		done.Go(func() { assert.NoError(t, serve(ctx, listener)) })
	}
	conn, err := grpc.NewClient(addresses[0], grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() {
		conn.Close()
		stop()
		done.Wait()
	})
	return conn, "http://" + addresses[1]
}

// A panic of the engine costs the caller one answer at every door, and nobody else anything: the next call of the same server is
// answered. What the panic says stands in the log alone.
func TestPanicsAreContainedAtEveryDoor(t *testing.T) {
	e, err := engine.NewWith(os.DirFS("testdata/rules"))
	require.NoError(t, err)
	log := &shared{}
	s := New(e, Options{Limits: DefaultLimits(), StopTime: time.Second, Log: slog.New(slog.NewTextHandler(log, nil))})
	const secret = "secret: table at 0xdead"
	s.check.ask = func(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
		if r.GetDesign().GetName() == "bad" {
			panic(secret)
		}
		return e.Check(ctx, r)
	}
	conn, web := listening(t, s)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	bad, good := &skidrulev1.Design{Name: "bad"}, &skidrulev1.Design{Name: "good"}
	plain := skidrulev1.NewCheckServiceClient(conn)
	clean := func(err error) {
		t.Helper()
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "secret")
	}
	panics := 0
	told := func() {
		t.Helper()
		panics++
		assert.Eventually(t, func() bool { return strings.Count(log.String(), secret) >= panics }, 5*time.Second, 5*time.Millisecond, "the log says what it was")
	}

	_, err = plain.CheckDesign(ctx, &skidrulev1.CheckDesignRequest{Design: bad})
	clean(err)
	assert.Equal(t, codes.Internal, status.Code(err))
	told()
	_, err = plain.CompareDesigns(ctx, &skidrulev1.CompareDesignsRequest{OldDesign: good, NewDesign: bad})
	clean(err)
	told()
	answer, err := plain.CheckDesign(ctx, &skidrulev1.CheckDesignRequest{Design: good})
	require.NoError(t, err)
	assert.Equal(t, "good", answer.GetReport().GetDesignName())

	batch, err := plain.CheckDesigns(ctx)
	require.NoError(t, err)
	answers := map[string]*skidrulev1.CheckDesignsResponse{}
	for _, d := range []*skidrulev1.Design{bad, good} {
		require.NoError(t, batch.Send(&skidrulev1.CheckDesignsRequest{RequestId: d.GetName(), Design: d}))
		a, err := batch.Recv()
		require.NoError(t, err, "a panic ends no batch")
		answers[a.GetRequestId()] = a
	}
	require.NoError(t, batch.CloseSend())
	assert.Equal(t, ReasonInternal, answers["bad"].GetRefusal().GetReason())
	assert.NotContains(t, answers["bad"].String(), "secret")
	assert.Equal(t, "good", answers["good"].GetReport().GetDesignName())
	told()

	editing, err := plain.EditDesign(ctx)
	require.NoError(t, err)
	ask := func(r *skidrulev1.EditDesignRequest) *skidrulev1.EditDesignResponse {
		t.Helper()
		require.NoError(t, editing.Send(r))
		a, err := editing.Recv()
		require.NoError(t, err, "a panic ends no session")
		return a
	}
	name := func(name string) *skidrulev1.EditDesignRequest {
		return &skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Edits{Edits: &skidrulev1.EditList{Edits: []*skidrulev1.Edit{
			{Change: &skidrulev1.Edit_Set{Set: &skidrulev1.Datum{Path: "name", Value: name}}}}}}}
	}
	assert.NotNil(t, ask(&skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Start{Start: &skidrulev1.EditStart{Design: good}}}).GetReport())
	assert.Equal(t, ReasonInternal, ask(name("bad")).GetRefusal().GetReason())
	told()
	after := ask(name("better"))
	assert.Equal(t, "better", after.GetChange().GetDesignName())
	assert.Equal(t, int64(1), after.GetDesignVersion(), "the edit that panicked was not made")
	require.NoError(t, editing.CloseSend())

	post := func(body string) (int, string) {
		t.Helper()
		r, err := http.Post(web+"/skidrule.v1.CheckService/CheckDesign", "application/json", strings.NewReader(body))
		require.NoError(t, err)
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		return r.StatusCode, string(text)
	}
	code, text := post(`{"design": {"name": "bad"}}`)
	assert.Equal(t, http.StatusInternalServerError, code)
	assert.Contains(t, text, `"internal"`)
	assert.NotContains(t, text, "secret")
	told()
	code, text = post(`{"design": {"name": "good"}}`)
	assert.Equal(t, http.StatusOK, code, text)

	protocols := &http.Protocols{}
	protocols.SetUnencryptedHTTP2(true)
	client := skidrulev1connect.NewCheckServiceClient(&http.Client{Transport: &http.Transport{Protocols: protocols}}, web)
	stream, err := client.CheckDesigns(ctx)
	require.NoError(t, err)
	require.NoError(t, stream.Send(&skidrulev1.CheckDesignsRequest{RequestId: "bad", Design: bad}))
	refused, err := stream.Receive()
	require.NoError(t, err)
	assert.Equal(t, ReasonInternal, refused.GetRefusal().GetReason())
	require.NoError(t, stream.CloseRequest())
	told()
	session, err := client.EditDesign(ctx)
	require.NoError(t, err)
	require.NoError(t, session.Send(&skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Start{Start: &skidrulev1.EditStart{Design: bad}}}))
	begun, err := session.Receive()
	require.NoError(t, err)
	assert.Equal(t, ReasonInternal, begun.GetRefusal().GetReason())
	require.NoError(t, session.CloseRequest())
	told()
	_, err = skidrulev1connect.NewCheckServiceClient(http.DefaultClient, web, connect.WithGRPCWeb()).CheckDesign(ctx, &skidrulev1.CheckDesignRequest{Design: bad})
	clean(err)
	assert.Equal(t, connect.CodeInternal, connect.CodeOf(err))
	told()
}
