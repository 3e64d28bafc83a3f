// Package service is the door, by gRPC and by HTTP (JSON and gRPC-Web) with the same handlers: limits, the one map from errors to
// statuses, and the life of the server. It holds no engineering: checks are engine's, all other answers answer's.
package service
