package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"github.com/skidrule/skidrule/internal/engine"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	engine.CollectSeldom()
	os.Exit(run(ctx, os.Args[1:], &surroundings{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Env: os.Getenv}))
}
