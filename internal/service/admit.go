package service

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// admit refuses a request that is larger than allowed or not sound.
func (l Limits) admit(ctx context.Context, check *skidrulev1.CheckDesignRequest) error {
	if err := l.request(check); err != nil {
		return err
	}
	return stage(ctx, "look at the form", func(ctx context.Context) error { return sound(ctx, check) })
}

// checkOf is the check that goes with a request about a design and parts beside it.
func checkOf(design *skidrulev1.Design, parts *skidrulev1.Catalogue) *skidrulev1.CheckDesignRequest {
	return &skidrulev1.CheckDesignRequest{Design: design, Options: &skidrulev1.CheckOptions{Catalogue: parts}}
}
