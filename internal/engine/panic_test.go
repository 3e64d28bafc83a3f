package engine

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// A rule that panics in a goroutine of its own panics in that of the caller, where it can be contained.
func TestPanicsComeToTheCaller(t *testing.T) {
	e, err := New()
	require.NoError(t, err)
	d := &skidrulev1.Design{}
	for i := range 2 * parallelFrom {
		d.Components = append(d.Components, &skidrulev1.Component{Tag: fmt.Sprint("CV-", i), Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{}}})
	}
	w, err := e.World(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	book := append(make([]*rulebook.Compiled, 0, 64), e.Book().Rules()[:32]...)
	book = append(book, nil, nil)
	assert.Panics(t, func() { _, _ = askAll(context.Background(), w, book, nil, false) })
}
