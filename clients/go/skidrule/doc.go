// Package skidrule asks a skidrule server: to check, solve, draw, list and draft designs, to calculate, and for its rules.
// Requests and answers are the messages of github.com/skidrule/skidrule/proto/skidrule/v1. It answers nothing itself, and reads no
// design files.
//
//	client, err := skidrule.Dial("127.0.0.1:7433")
//	if err != nil { ... }
//	defer client.Close()
//	report, err := client.Check(ctx, &skidrulev1.CheckDesignRequest{Design: design})
//
// A design with findings is an answer, not an error. Errors are *InvalidError for a request that cannot be answered,
// *LimitError for one that is too large, *NotFoundError for a rule that does not exist, and the gRPC status otherwise.
package skidrule
