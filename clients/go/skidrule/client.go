// Package skidrule asks a skidrule server: it checks designs and looks up rules. Requests and answers are the messages of
// github.com/skidrule/skidrule/proto/skidrule/v1.
//
//	client, err := skidrule.Dial("127.0.0.1:7433")
//	if err != nil { ... }
//	defer client.Close()
//	report, err := client.Check(ctx, &skidrulev1.CheckDesignRequest{Design: design})
//
// A design with findings is an answer, not an error. Errors are *InvalidError for a request that cannot be answered,
// *LimitError for one that is too large, *NotFoundError for a rule that does not exist, and the gRPC status otherwise.
package skidrule

import (
	"context"
	"fmt"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// MaxAnswerBytes is the longest answer that a client reads.
const MaxAnswerBytes = 64 << 20

// retryUnavailable repeats calls of every service that did not reach a server; others are never repeated.
const retryUnavailable = `{"methodConfig": [{"name": [{}],
	"retryPolicy": {"maxAttempts": 3, "initialBackoff": "0.1s", "maxBackoff": "1s", "backoffMultiplier": 2, "retryableStatusCodes": ["UNAVAILABLE"]}}]}`

// Client asks one server. It is safe for concurrent use.
type Client struct {
	conn  *grpc.ClientConn
	check skidrulev1.CheckServiceClient
	rules skidrulev1.RuleServiceClient
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
func New(conn *grpc.ClientConn) *Client {
	return &Client{conn: conn, check: skidrulev1.NewCheckServiceClient(conn), rules: skidrulev1.NewRuleServiceClient(conn)}
}

// Close ends the connection.
func (c *Client) Close() error { return c.conn.Close() }

// Check asks for the report about a design.
func (c *Client) Check(ctx context.Context, request *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
	answer, err := c.check.CheckDesign(ctx, request)
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetReport(), nil
}

// Rule gives one rule of the server with its examples.
func (c *Client) Rule(ctx context.Context, id string) (*skidrulev1.Rule, error) {
	answer, err := c.rules.GetRule(ctx, &skidrulev1.GetRuleRequest{Id: id})
	if err != nil {
		return nil, explain(err)
	}
	return answer.GetRule(), nil
}

// Rules gives all rules of the server in order of id, without their examples; of one topic where topic is not empty.
func (c *Client) Rules(ctx context.Context, topic string) ([]*skidrulev1.Rule, error) {
	var all []*skidrulev1.Rule
	request := &skidrulev1.ListRulesRequest{PageSize: 1000, Topic: topic}
	for {
		answer, err := c.rules.ListRules(ctx, request)
		if err != nil {
			return nil, explain(err)
		}
		all = append(all, answer.GetRules()...)
		if answer.GetNextPageToken() == "" {
			return all, nil
		}
		request.PageToken = answer.GetNextPageToken()
	}
}
