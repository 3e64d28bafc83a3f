package skidrule

import (
	"context"
	"fmt"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
)

// MaxAnswerBytes is the longest answer that a client reads.
const MaxAnswerBytes = 64 << 20

// retryUnavailable repeats calls of every service that did not reach a server; others are never repeated.
const retryUnavailable = `{"methodConfig": [{"name": [{}],
	"retryPolicy": {"maxAttempts": 3, "initialBackoff": "0.1s", "maxBackoff": "1s", "backoffMultiplier": 2, "retryableStatusCodes": ["UNAVAILABLE"]}}]}`

// Client asks one server. It is safe for concurrent use.
type Client struct {
	conn explained
}

// explained is a connection over which single calls fail with errors that say what is wrong.
type explained struct{ *grpc.ClientConn }

// Invoke makes one call.
func (c explained) Invoke(ctx context.Context, method string, request, answer any, options ...grpc.CallOption) error {
	return explain(c.ClientConn.Invoke(ctx, method, request, answer, options...))
}

// Dial prepares a client for a server address such as "127.0.0.1:7433". It connects with the first call. Without other
// credentials among the options the connection is plain text, as a server on the same machine expects.
func Dial(target string, options ...grpc.DialOption) (*Client, error) {
	all := []grpc.DialOption{
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultServiceConfig(retryUnavailable),
		grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(MaxAnswerBytes)),
	}
	conn, err := grpc.NewClient(target, append(all, options...)...)
	if err != nil {
		return nil, fmt.Errorf("server %s: %w", target, err)
	}
	return New(conn), nil
}

// New gives a client for a connection that is there already. Close closes it.
func New(conn *grpc.ClientConn) *Client { return &Client{explained{conn}} }

// Close ends the connection.
func (c *Client) Close() error { return c.conn.Close() }
