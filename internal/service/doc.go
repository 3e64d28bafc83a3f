// Package service is the gRPC door to the engine: handlers, limits, the one map from errors to statuses, and the life of
// the server. It holds no engineering.
package service
