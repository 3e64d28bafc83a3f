// Package loadtest measures how many calls a server answers, beside a sink: a server that decodes the same requests and answers
// nothing. Both run in this process and are called over the loopback, in turns of the same run, so that their ratio says what
// the work itself costs whatever the machine. It is bounded in callers and time and calls no other machine.
// It holds no server of its own but the sink: the other is service's, as it is.
package loadtest

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"runtime"
	"slices"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Bounds of a run.
const (
	MaxCallers = 64
	MaxTime    = 30 * time.Second
)

// Call is one call of a kind to a server.
type Call struct {
	Name string
	Do   func(context.Context, *grpc.ClientConn) error
}

// Result is what one number of callers had of one server.
type Result struct {
	Calls    int
	PerS     float64
	P50, P99 time.Duration
	// Allocations for each call, those of the caller included.
	Allocations float64
}

// Pair is the server beside its sink.
type Pair struct {
	Callers      int
	Server, Sink Result
}

// Ratio is the calls per second of the server over those of the sink.
func (p Pair) Ratio() float64 { return p.Server.PerS / p.Sink.PerS }

// sink decodes requests and answers nothing.
type sink struct {
	skidrulev1.UnimplementedCheckServiceServer
	skidrulev1.UnimplementedSolveServiceServer
}

// CheckDesign gives a small answer and does nothing else.
func (sink) CheckDesign(context.Context, *skidrulev1.CheckDesignRequest) (*skidrulev1.CheckDesignResponse, error) {
	return &skidrulev1.CheckDesignResponse{}, nil
}

// SolveDesign gives a small answer and does nothing else.
func (sink) SolveDesign(context.Context, *skidrulev1.SolveDesignRequest) (*skidrulev1.SolveDesignResponse, error) {
	return &skidrulev1.SolveDesignResponse{}, nil
}

// Servers are a server and a sink with connections to them.
type Servers struct {
	server, sink *grpc.ClientConn
	stop         func()
}

// Start starts both on free ports of the loopback.
func Start(e *engine.Engine) (*Servers, error) {
	ctx, cancel := context.WithCancel(context.Background())
	var done sync.WaitGroup
	s := &Servers{stop: func() {
		cancel()
		done.Wait()
	}}
	real := service.New(e, service.Options{Limits: service.DefaultLimits(), StopTime: time.Second, Log: slog.New(slog.DiscardHandler)})
	conn, err := listen(func(l net.Listener) { done.Go(func() { real.Serve(ctx, l) }) })
	if err != nil {
		cancel()
		return nil, err
	}
	s.server = conn
	empty := grpc.NewServer(grpc.MaxConcurrentStreams(256))
	skidrulev1.RegisterCheckServiceServer(empty, sink{})
	skidrulev1.RegisterSolveServiceServer(empty, sink{})
	if s.sink, err = listen(func(l net.Listener) { done.Go(func() { empty.Serve(l) }) }); err != nil {
		cancel()
		return nil, err
	}
	context.AfterFunc(ctx, empty.Stop)
	return s, nil
}

func listen(serve func(net.Listener)) (*grpc.ClientConn, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	serve(l)
	return grpc.NewClient(l.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()), grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(64<<20)))
}

// Close ends both.
func (s *Servers) Close() {
	s.server.Close()
	s.sink.Close()
	s.stop()
}

// Compare calls server and sink in turns, for the given time each in all, with callers that wait for each answer before they
// call again.
func (s *Servers) Compare(ctx context.Context, call Call, callers int, total time.Duration) (Pair, error) {
	if callers < 1 || callers > MaxCallers || total <= 0 || total > MaxTime {
		return Pair{}, fmt.Errorf("%d callers for %v; at most %d and %v", callers, total, MaxCallers, MaxTime)
	}
	const turns = 5
	p := Pair{Callers: callers}
	var server, empty measured
	for range turns {
		if err := empty.add(ctx, call, s.sink, callers, total/turns); err != nil {
			return p, err
		}
		if err := server.add(ctx, call, s.server, callers, total/turns); err != nil {
			return p, err
		}
	}
	p.Server, p.Sink = server.result(), empty.result()
	return p, nil
}

// measured gathers the turns of one server.
type measured struct {
	took    []time.Duration
	time    time.Duration
	mallocs uint64
}

func (m *measured) add(ctx context.Context, call Call, conn *grpc.ClientConn, callers int, total time.Duration) error {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	begin := time.Now()
	took, errs := make([][]time.Duration, callers), make([]error, callers)
	var group sync.WaitGroup
	for i := range callers {
		group.Go(func() {
			for time.Since(begin) < total {
				at := time.Now()
				if errs[i] = call.Do(ctx, conn); errs[i] != nil {
					return
				}
				took[i] = append(took[i], time.Since(at))
			}
		})
	}
	group.Wait()
	m.time += time.Since(begin)
	runtime.ReadMemStats(&after)
	m.mallocs += after.Mallocs - before.Mallocs
	for i := range took {
		if errs[i] != nil {
			return errs[i]
		}
		m.took = append(m.took, took[i]...)
	}
	return nil
}

func (m *measured) result() Result {
	n := len(m.took)
	if n == 0 {
		return Result{}
	}
	slices.Sort(m.took)
	return Result{Calls: n, PerS: float64(n) / m.time.Seconds(), P50: m.took[n/2], P99: m.took[n*99/100], Allocations: float64(m.mallocs) / float64(n)}
}

// AtRate calls the server at a steady rate for a time and measures each call from when it was due, so that waiting counts. A
// call that would be the 65th at once is left out and counted as lost.
func (s *Servers) AtRate(ctx context.Context, call Call, perSecond float64, total time.Duration) (r Result, lost int, err error) {
	if perSecond <= 0 || perSecond > 1e6 || total <= 0 || total > MaxTime {
		return r, 0, fmt.Errorf("%g calls a second for %v; at most 1e6 and %v", perSecond, total, MaxTime)
	}
	var (
		m     measured
		mutex sync.Mutex
		group sync.WaitGroup
		first error
	)
	places := make(chan struct{}, MaxCallers)
	every := time.Duration(float64(time.Second) / perSecond)
	begin := time.Now()
	for due := begin; due.Sub(begin) < total && ctx.Err() == nil; due = due.Add(every) {
		time.Sleep(time.Until(due))
		select {
		case places <- struct{}{}:
		default:
			lost++
			continue
		}
		group.Go(func() {
			defer func() { <-places }()
			err := call.Do(ctx, s.server)
			mutex.Lock()
			defer mutex.Unlock()
			if err != nil && first == nil {
				first = err
			}
			m.took = append(m.took, time.Since(due))
		})
	}
	group.Wait()
	m.time = time.Since(begin)
	return m.result(), lost, first
}
