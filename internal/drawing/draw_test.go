package drawing_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

	"github.com/skidrule/skidrule/internal/drawing"
)

func draw(t testing.TB, d *skidrulev1.Design, o drawing.Options) []drawing.Page {
	t.Helper()
	pages, err := drawing.Draw(context.Background(), d, o)
	require.NoError(t, err)
	return pages
}

// clean asserts what holds for every sheet that this package lays out by itself.
func clean(t *testing.T, p *drawing.Page) {
	t.Helper()
	m := p.Metrics()
	assert.Zero(t, m.Through, "lines through symbols")
	assert.Zero(t, m.Shared, "lines over lines")
	assert.Zero(t, m.OffPort, "line ends off their ports")
	assert.Zero(t, m.Overlaps, "overlaps of labels or symbols")
}

func TestEveryDesignIsCleanAndWhole(t *testing.T) {
	for name, d := range map[string]*skidrulev1.Design{
		"skid": skid(), "manifold": manifold(), "plant by train": trains(12, true), "plant without trains": trains(12, false),
	} {
		t.Run(name, func(t *testing.T) {
			pages := draw(t, d, drawing.Options{})
			tags := map[string]int{}
			hops := map[string]int{}
			for i := range pages {
				clean(t, &pages[i])
				for _, it := range pages[i].Sheet.Items {
					if it.Kind != "off_sheet" {
						tags[it.Tag]++
					}
				}
				for _, e := range pages[i].Sheet.Edges {
					hops[e.Line]++
				}
			}
			for _, c := range d.Components {
				assert.Equal(t, 1, tags[c.Tag], "component %s", c.Tag)
			}
			for _, l := range d.Lines {
				assert.GreaterOrEqual(t, hops[l.Tag], len(l.Route)-1, "line %s", l.Tag)
			}
		})
	}
}

func TestStatedPositionsAreKept(t *testing.T) {
	at := map[string][2]float64{
		"B-101": {20, 70}, "HV-101": {32, 70}, "ST-101": {42, 70}, "P-101": {54, 70}, "T-101": {64, 70}, "INJ-101": {76, 70},
		"G-101": {40, 30}, "XV-101": {56, 30}, "V-101": {110, 66},
	}
	pages := draw(t, placed(skid(), at), drawing.Options{})
	require.Len(t, pages, 1)
	found := 0
	for _, it := range pages[0].Sheet.Items {
		if p, ok := at[it.Tag]; ok {
			assert.Equal(t, drawing.Point{X: int(p[0]), Y: int(p[1])}, it.At, it.Tag)
			found++
		}
	}
	assert.Len(t, at, found)
	m := pages[0].Metrics()
	assert.Zero(t, m.Through)
	assert.Zero(t, m.OffPort)
	assert.Zero(t, m.Shared)
}
