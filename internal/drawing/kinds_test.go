package drawing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

	"github.com/skidrule/skidrule/internal/drawing"
)

// TestEveryKindHasASymbol joins each port of each kind to something and looks for a symbol with that port on its outline.
func TestEveryKindHasASymbol(t *testing.T) {
	fields := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Oneofs().ByName("spec").Fields()
	assert.Equal(t, 63, fields.Len(), "kinds of the schema")
	for i := range fields.Len() {
		fd := fields.Get(i)
		kind := string(fd.Name())
		t.Run(kind, func(t *testing.T) {
			trait, ok := proto.GetExtension(fd.Message().Options(), skidrulev1.E_KindTrait).(*skidrulev1.KindTrait)
			require.True(t, ok)
			s := newSketch(kind).add(kind, "X-1", "title")
			for k, p := range trait.GetPorts() {
				tag := fmt.Sprintf("N-%d", k)
				s.add("other", tag, "")
				if p.GetDirection() == skidrulev1.FlowDirection_FLOW_DIRECTION_IN {
					s.line(fmt.Sprintf("L-%d", k), water, "15", tag+".out > X-1."+p.GetName())
				} else {
					s.line(fmt.Sprintf("L-%d", k), water, "15", "X-1."+p.GetName()+" > "+tag+".in")
				}
			}
			pages := draw(t, s.d, drawing.Options{})
			require.Len(t, pages, 1)
			clean(t, &pages[0])
			it := pages[0].Sheet.Items[0]
			assert.Equal(t, kind, it.Kind)
			for _, p := range trait.GetPorts() {
				var found *drawing.Port
				for k := range it.Ports {
					if it.Ports[k].Name == p.GetName() {
						found = &it.Ports[k]
					}
				}
				require.NotNil(t, found, "port %s", p.GetName())
				if found.Free {
					continue
				}
				edge := map[drawing.Side]int{drawing.North: -it.Extent.Up, drawing.East: it.Extent.Right, drawing.South: it.Extent.Down, drawing.West: -it.Extent.Left}[found.Side]
				if found.Side == drawing.North || found.Side == drawing.South {
					assert.Equal(t, edge, found.Offset.Y, "port %s lies on its side", p.GetName())
				} else {
					assert.Equal(t, edge, found.Offset.X, "port %s lies on its side", p.GetName())
				}
			}
			elements, _ := parse(t, pages[0].SVG())
			shapes, inside := 0, false
			for _, e := range elements {
				switch {
				case e.name == "g":
					inside = e.attrs["data-tag"] == "X-1"
				case inside && (e.name == "path" || e.name == "circle"):
					shapes++
				}
			}
			assert.Greater(t, shapes, 2, "the highlight has two shapes, the symbol has more")
		})
	}
}

// TestGravity checks that drains hang below what they drain and vents stand above what they vent.
func TestGravity(t *testing.T) {
	page := draw(t, skid(), drawing.Options{})[0]
	at := map[string]drawing.Point{}
	for _, it := range page.Sheet.Items {
		at[it.Tag] = it.At
	}
	for _, c := range []struct{ upper, lower string }{
		{"V-101", "HV-103"}, {"HV-103", "DR-102"}, {"LT-101", "FD-101"}, {"FD-101", "DR-101"}, {"KO-101", "FD-102"}, {"FD-102", "DR-103"},
		{"AV-101", "V-101"}, {"PSV-101", "V-101"}, {"VT-103", "OC-101"}, {"PI-101", "T-101"}, {"CV-102", "INJ-101"},
	} {
		assert.Less(t, at[c.upper].Y, at[c.lower].Y, "%s stands above %s", c.upper, c.lower)
	}
	for _, c := range [][2]string{{"B-101", "HV-101"}, {"HV-101", "P-101"}, {"P-101", "INJ-101"}, {"INJ-101", "V-101"}, {"K-101", "OC-101"}, {"OC-101", "G-101"}, {"G-101", "LT-101"}} {
		assert.Less(t, at[c[0]].X, at[c[1]].X, "%s stands left of %s", c[0], c[1])
	}
}

func TestDemoIsReadableOnOneSheet(t *testing.T) {
	pages := draw(t, skid(), drawing.Options{})
	require.Len(t, pages, 1)
	// Tags are written 2.8 mm high; ISO 3098-1 begins at 1.8 mm for lettering.
	assert.Greater(t, pages[0].Metrics().Scale*2.8, 1.8)
}

func TestPlantSplitsByTrain(t *testing.T) {
	pages := draw(t, trains(12, true), drawing.Options{})
	require.Len(t, pages, 12)
	connectors := map[string]int{}
	for i, p := range pages {
		assert.Equal(t, fmt.Sprintf("train %d", i+1), p.Sheet.Name)
		assert.Equal(t, i+1, p.Sheet.Number)
		assert.Equal(t, 12, p.Sheet.Of)
		for _, it := range p.Sheet.Items {
			if it.Kind == "off_sheet" {
				connectors[it.Tag]++
			}
		}
	}
	assert.Len(t, connectors, 22, "two mains between twelve trains")
	for tag, n := range connectors {
		assert.Equal(t, 2, n, "line %s leaves one sheet and enters another", tag)
	}
	for _, p := range draw(t, trains(12, false), drawing.Options{SheetCapacity: 30}) {
		n := 0
		for _, it := range p.Sheet.Items {
			if it.Kind != "off_sheet" {
				n++
			}
		}
		assert.LessOrEqual(t, n, 30)
	}
}

// TestTimeGrowsBelowTheSquare compares 100 with 1,000 components by the best of some runs each.
func TestTimeGrowsBelowTheSquare(t *testing.T) {
	best := func(d *skidrulev1.Design) time.Duration {
		least := time.Hour
		for range 4 {
			begin := time.Now()
			draw(t, d, drawing.Options{})
			least = min(least, time.Since(begin))
		}
		return least
	}
	small, large := trains(4, false), trains(40, false)
	n := float64(len(large.Components)) / float64(len(small.Components))
	ratio := float64(best(large)) / float64(best(small))
	assert.Less(t, ratio, n*n*0.7, "%.1f times the components took %.1f times as long", n, ratio)
}
