package skidrule

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// RefusedError tells why one request of a stream has no answer.
type RefusedError struct{ Refusal *skidrulev1.Refusal }

// Error gives the message and every violation.
func (e *RefusedError) Error() string {
	s := e.Refusal.GetMessage()
	for _, v := range e.Refusal.GetViolations()[min(1, len(e.Refusal.GetViolations())):] {
		s += "\n" + v.GetField() + ": " + v.GetDescription()
	}
	if n := e.Refusal.GetMoreViolations(); n > 0 {
		s += "\nand " + strconv.Itoa(int(n)) + " more"
	}
	return s
}

// Answer is the answer to one request of a batch.
type Answer struct {
	// ID is that of the request.
	ID string
	// Report is nil where Err tells why there is none: a *RefusedError.
	Report *skidrulev1.Report
	Err    error
}

// CheckAll checks a batch over one stream. Requests are drawn from the sequence only as fast as the server takes them, and
// answers are given to each as they come, in any order; there is one for each request unless the error says otherwise. An
// error of each ends the batch and is returned.
func (c *Client) CheckAll(ctx context.Context, requests iter.Seq[*skidrulev1.CheckDesignsRequest], each func(Answer) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := skidrulev1.NewCheckServiceClient(c.conn).CheckDesigns(ctx)
	if err != nil {
		return explain(err)
	}
	sent := make(chan int, 1)
	go func() {
		n := 0
		defer func() { sent <- n }()
		for r := range requests {
			// Where sending fails, receiving tells why.
			if stream.Send(r) != nil {
				return
			}
			n++
		}
		stream.CloseSend()
	}()
	answers := 0
	for {
		a, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			if n := <-sent; n != answers {
				return fmt.Errorf("the server answered %d of %d requests", answers, n)
			}
			return nil
		}
		if err != nil {
			return explain(err)
		}
		answers++
		answer := Answer{ID: a.GetRequestId(), Report: a.GetReport()}
		if r := a.GetRefusal(); r != nil {
			answer.Err = &RefusedError{r}
		}
		if err := each(answer); err != nil {
			return err
		}
	}
}
