package service

import (
	"context"
	"errors"
	"io"
	"sync"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// maxRequestID is the longest name, in bytes, that a caller may give a request of a stream.
const maxRequestID = 128

// twoWay is a stream as the handlers see it, whatever protocol it goes over.
type twoWay[In, Out any] interface {
	Recv() (*In, error)
	Send(*Out) error
}

// errStopping ends streams of a server that stops.
var errStopping = errors.New("the server stops")

// CheckDesigns checks a batch.
func (s *checkService) CheckDesigns(stream grpc.BidiStreamingServer[skidrulev1.CheckDesignsRequest, skidrulev1.CheckDesignsResponse]) error {
	return s.checkDesigns(stream.Context(), stream)
}

// checkDesigns reads a request only when a worker is free for it, and a worker is free only when its answer went out. So a
// caller that does not read its answers stops being read from, and no more than Limits.InFlight designs are held.
func (s *checkService) checkDesigns(ctx context.Context, stream twoWay[skidrulev1.CheckDesignsRequest, skidrulev1.CheckDesignsResponse]) error {
	ctx, cancel := context.WithCancel(engine.KeepingRules(ctx))
	defer cancel()
	var (
		workers sync.WaitGroup
		sending sync.Mutex
		failed  error
	)
	answer := func(out *skidrulev1.CheckDesignsResponse) {
		sending.Lock()
		defer sending.Unlock()
		if failed != nil {
			return
		}
		if failed = stream.Send(out); failed != nil {
			cancel()
		}
	}
	free := make(chan struct{}, max(1, s.limits.InFlight))
	requests := received(ctx, stream.Recv, free)
	for {
		r, err := next(ctx, requests, s.stopping)
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, errStopping) {
				cancel()
			}
			workers.Wait()
			if failed != nil {
				return failed
			}
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		workers.Go(func() {
			defer func() { <-free }()
			out := s.oneOfBatch(ctx, r)
			if ctx.Err() == nil {
				answer(out)
			}
		})
	}
}

// oneOfBatch answers one request of a batch, with a refusal where it has no answer.
func (s *checkService) oneOfBatch(ctx context.Context, r *skidrulev1.CheckDesignsRequest) *skidrulev1.CheckDesignsResponse {
	out := &skidrulev1.CheckDesignsResponse{RequestId: cut(r.GetRequestId(), maxRequestID)}
	err := s.limits.message(r, r.GetRequestId())
	var report *skidrulev1.Report
	if err == nil {
		report, err = s.checkOne(ctx, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}, nil)
	}
	if err != nil {
		out.Result = &skidrulev1.CheckDesignsResponse_Refusal{Refusal: s.refused(ctx, "CheckDesigns", err)}
		return out
	}
	out.Result = &skidrulev1.CheckDesignsResponse_Report{Report: report}
	return out
}

// message bounds one message of a stream.
func (l Limits) message(m proto.Message, id string) error {
	if len(id) > maxRequestID {
		return &limitError{"request_id_bytes", len(id), maxRequestID}
	}
	return l.size(m)
}

// item is what a stream gave.
type item[T any] struct {
	value *T
	err   error
}

// received reads a stream, each time after taking a place, until an error, which it gives too. It ends with the context.
func received[T any](ctx context.Context, recv func() (*T, error), places chan<- struct{}) <-chan item[T] {
	out := make(chan item[T])
	go func() {
		for {
			select {
			case places <- struct{}{}:
			case <-ctx.Done():
				return
			}
			v, err := recv()
			select {
			case out <- item[T]{v, err}:
			case <-ctx.Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	return out
}

// next gives the next request of a stream.
func next[T any](ctx context.Context, requests <-chan item[T], stopping <-chan struct{}) (*T, error) {
	select {
	case i := <-requests:
		return i.value, i.err
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-stopping:
		return nil, errStopping
	}
}
