package drawing_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/drawing"
)

func BenchmarkDraw(b *testing.B) {
	run := func(name string, d func() ([]drawing.Page, error)) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				pages, err := d()
				require.NoError(b, err)
				for i := range pages {
					require.NotEmpty(b, pages[i].SVG())
				}
			}
		})
	}
	one, two := skid(), manifold()
	run("skid", func() ([]drawing.Page, error) { return drawing.Draw(context.Background(), one, drawing.Options{}) })
	run("manifold", func() ([]drawing.Page, error) { return drawing.Draw(context.Background(), two, drawing.Options{}) })
	for _, count := range []int{4, 12, 40} {
		for _, named := range []bool{true, false} {
			d := trains(count, named)
			run(fmt.Sprintf("plant-%d-%v", len(d.Components), named), func() ([]drawing.Page, error) {
				return drawing.Draw(context.Background(), d, drawing.Options{})
			})
		}
	}
}
