package drawing_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

	"github.com/skidrule/skidrule/internal/drawing"
)

type elkPort struct {
	ID            string            `json:"id"`
	X             float64           `json:"x"`
	Y             float64           `json:"y"`
	LayoutOptions map[string]string `json:"layoutOptions,omitempty"`
}

type elkPoint struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

type elkSection struct {
	StartPoint elkPoint   `json:"startPoint"`
	EndPoint   elkPoint   `json:"endPoint"`
	BendPoints []elkPoint `json:"bendPoints"`
}

type elkEdge struct {
	ID       string       `json:"id"`
	Sources  []string     `json:"sources"`
	Targets  []string     `json:"targets"`
	Sections []elkSection `json:"sections,omitempty"`
}

type elkNode struct {
	ID            string            `json:"id"`
	X             float64           `json:"x,omitempty"`
	Y             float64           `json:"y,omitempty"`
	Width         float64           `json:"width,omitempty"`
	Height        float64           `json:"height,omitempty"`
	Ports         []elkPort         `json:"ports,omitempty"`
	Children      []elkNode         `json:"children,omitempty"`
	Edges         []elkEdge         `json:"edges,omitempty"`
	LayoutOptions map[string]string `json:"layoutOptions,omitempty"`
}

// pointingEast turns a symbol back to how it stands in a line from left to right.
func pointingEast(it drawing.Item) drawing.Item {
	ports := append([]drawing.Port(nil), it.Ports...)
	for i := range ports {
		p := &ports[i]
		switch x, y := p.Offset.X, p.Offset.Y; it.Turn {
		case drawing.TurnSouth:
			p.Offset, p.Side = drawing.Point{X: y, Y: -x}, (p.Side+3)%4
		case drawing.TurnNorth:
			p.Offset, p.Side = drawing.Point{X: -y, Y: x}, (p.Side+1)%4
		}
	}
	switch e := it.Extent; it.Turn {
	case drawing.TurnSouth:
		it.Extent = drawing.Extent{Up: e.Right, Right: e.Down, Down: e.Left, Left: e.Up}
	case drawing.TurnNorth:
		it.Extent = drawing.Extent{Up: e.Left, Right: e.Up, Down: e.Right, Left: e.Down}
	}
	it.Ports = ports
	return it
}

// elkGraph is a sheet as a graph of the same symbols with the same ports: turned as this package turned them, or all pointing
// east, which suits a layout from left to right.
func elkGraph(name string, sh *drawing.Sheet, turned bool) elkNode {
	const m = 10 // units of a module
	root := elkNode{ID: name, LayoutOptions: map[string]string{
		"elk.algorithm": "layered", "elk.direction": "RIGHT", "elk.edgeRouting": "ORTHOGONAL",
		"elk.layered.thoroughness": "10", "elk.layered.nodePlacement.favorStraightEdges": "true",
		"elk.spacing.nodeNode": "20", "elk.layered.spacing.nodeNodeBetweenLayers": "40",
	}}
	for i, it := range sh.Items {
		if !turned {
			it = pointingEast(it)
		}
		n := elkNode{ID: fmt.Sprintf("n%d", i), Width: float64(it.Extent.Left+it.Extent.Right) * m, Height: float64(it.Extent.Up+it.Extent.Down) * m,
			LayoutOptions: map[string]string{"elk.portConstraints": "FIXED_POS"}}
		for p, port := range it.Ports {
			if port.Free {
				n.LayoutOptions["elk.portConstraints"] = "FREE"
				n.Width, n.Height = m, m
			}
			side := map[drawing.Side]string{drawing.North: "NORTH", drawing.East: "EAST", drawing.South: "SOUTH", drawing.West: "WEST"}[port.Side]
			n.Ports = append(n.Ports, elkPort{ID: fmt.Sprintf("n%dp%d", i, p), X: float64(port.Offset.X+it.Extent.Left) * m,
				Y: float64(port.Offset.Y+it.Extent.Up) * m, LayoutOptions: map[string]string{"elk.port.side": side}})
		}
		root.Children = append(root.Children, n)
	}
	for i, e := range sh.Edges {
		root.Edges = append(root.Edges, elkEdge{ID: fmt.Sprintf("e%d", i), Sources: []string{fmt.Sprintf("n%dp%d", e.From.Item, e.From.Port)},
			Targets: []string{fmt.Sprintf("n%dp%d", e.To.Item, e.To.Port)}})
	}
	return root
}

// elkCounts counts bends and crossings of a graph laid out.
func elkCounts(g elkNode) (bends, crossings int) {
	type seg struct {
		a, b elkPoint
		edge int
	}
	var segs []seg
	for i, e := range g.Edges {
		for _, s := range e.Sections {
			pts := append(append([]elkPoint{s.StartPoint}, s.BendPoints...), s.EndPoint)
			for k := 0; k+1 < len(pts); k++ {
				segs = append(segs, seg{pts[k], pts[k+1], i})
			}
			for k := 1; k+1 < len(pts); k++ {
				flat := pts[k-1].X == pts[k].X && pts[k].X == pts[k+1].X || pts[k-1].Y == pts[k].Y && pts[k].Y == pts[k+1].Y
				if !flat {
					bends++
				}
			}
		}
	}
	within := func(v, a, b float64) bool { return v > math.Min(a, b)+1e-6 && v < math.Max(a, b)-1e-6 }
	for _, s := range segs {
		for _, t := range segs {
			if s.edge != t.edge && s.a.Y == s.b.Y && t.a.X == t.b.X && within(t.a.X, s.a.X, s.b.X) && within(s.a.Y, t.a.Y, t.b.Y) {
				crossings++
			}
		}
	}
	return bends, crossings
}

// TestBendsAndCrossingsAgainstTheYardstick lays the same graphs out with the layered layout of elkjs and compares by counts.
func TestBendsAndCrossingsAgainstTheYardstick(t *testing.T) {
	dir := filepath.Join("testdata", "elk")
	if _, err := os.Stat(filepath.Join(dir, "node_modules")); err != nil {
		require.Empty(t, os.Getenv("CI"), "elkjs is not installed in %s", dir)
		t.Logf("elkjs is not installed in %s; nothing is compared", dir)
		return
	}
	type input struct {
		name string
		d    *skidrulev1.Design
		data map[string]*skidrulev1.Component
	}
	inputs := []input{{"skid", skid(), nil}, {"manifold", manifold(), nil}, {"plant", trains(2, true), nil}}
	for _, d := range demos(t) {
		inputs = append(inputs, input(d))
	}
	var graphs []elkNode
	var ours []drawing.Metrics
	var names []string
	for _, c := range inputs {
		pages := draw(t, c.d, drawing.Options{Data: c.data})
		for i := range pages {
			names = append(names, fmt.Sprintf("%s %d", c.name, i+1))
			graphs = append(graphs, elkGraph(c.name, pages[i].Sheet, true), elkGraph(c.name, pages[i].Sheet, false))
			ours = append(ours, pages[i].Metrics())
		}
	}
	in, err := json.Marshal(graphs)
	require.NoError(t, err)
	cmd := exec.Command("node", "layout.cjs")
	cmd.Dir = dir
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	var laid []elkNode
	require.NoError(t, json.Unmarshal(out, &laid))
	require.Len(t, laid, len(graphs))
	ourCrossings, theirCrossings := 0, 0
	for i := range names {
		// The better count of the two ways to turn the symbols is the measure.
		bends, crossings := elkCounts(laid[2*i])
		b, c := elkCounts(laid[2*i+1])
		bends, crossings = min(bends, b), min(crossings, c)
		t.Logf("%-28s bends %d against %d, crossings %d against %d", names[i], ours[i].Bends, bends, ours[i].Crossings, crossings)
		assert.LessOrEqual(t, float64(ours[i].Bends), 1.3*float64(bends), "bends of %s", names[i])
		ourCrossings, theirCrossings = ourCrossings+ours[i].Crossings, theirCrossings+crossings
	}
	assert.LessOrEqual(t, float64(ourCrossings), 1.3*float64(theirCrossings), "crossings of all sheets together")
}
