package drawing

import skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

// module is the grid module of every sheet in millimetres.
const module = 2.5

// Side is a side of a symbol, in clockwise order.
type Side uint8

// The four sides.
const (
	North Side = iota
	East
	South
	West
)

func (s Side) opposite() Side { return (s + 2) & 3 }

// step is the unit step out of the side; y grows downwards.
func (s Side) step() Point {
	return [...]Point{{0, -1}, {1, 0}, {0, 1}, {-1, 0}}[s&3]
}

func (s Side) vertical() bool { return s == North || s == South }

// Point is a place on the sheet in modules.
type Point struct{ X, Y int }

// Turn is the way a symbol is turned: the direction of its flow.
type Turn uint8

// The four turns. TurnWest is a mirror image, so that stems stay on top.
const (
	TurnEast Turn = iota
	TurnSouth
	TurnWest
	TurnNorth
)

func (t Turn) point(p Point) Point {
	switch t {
	case TurnSouth:
		return Point{-p.Y, p.X}
	case TurnWest:
		return Point{-p.X, p.Y}
	case TurnNorth:
		return Point{p.Y, -p.X}
	}
	return p
}

func (t Turn) side(s Side) Side {
	switch t {
	case TurnSouth:
		return (s + 1) & 3
	case TurnWest:
		if s == East || s == West {
			return s.opposite()
		}
		return s
	case TurnNorth:
		return (s + 3) & 3
	}
	return s
}

// Extent is how far something reaches from its centre, in modules, none of them negative.
type Extent struct{ Up, Right, Down, Left int }

func (e Extent) turned(t Turn) Extent {
	switch t {
	case TurnSouth:
		return Extent{Up: e.Left, Right: e.Up, Down: e.Right, Left: e.Down}
	case TurnWest:
		return Extent{Up: e.Up, Right: e.Left, Down: e.Down, Left: e.Right}
	case TurnNorth:
		return Extent{Up: e.Right, Right: e.Down, Down: e.Left, Left: e.Up}
	}
	return e
}

// Port is a place on the outline of a symbol where a line ends.
type Port struct {
	// Name as the kind gives it.
	Name string
	// Side of the symbol, as turned.
	Side Side
	// Offset from the centre of the symbol in modules, as turned.
	Offset Point
	// Free ports may be met from any side, as at a tee.
	Free bool
}

// Item is one symbol on a sheet.
type Item struct {
	// Tag of the component; of an off-sheet connector, a name of its own.
	Tag string
	// Kind is the name of the component's kind, as `check_valve`, or `off_sheet`.
	Kind string
	// Title is what the component is for.
	Title string
	// At is the centre on the sheet in modules.
	At Point
	// Turn of the symbol.
	Turn Turn
	// Extent of the symbol as turned, labels not counted.
	Extent Extent
	// Ports in use, and all ports of kinds with a fixed outline.
	Ports []Port

	component *skidrulev1.Component
	form      *form
	notes     []string // small print below the tag
	flow      flowRole // of a flag: which way it points
	fixed     bool     // the design places it
	train     string
}

// PortAt is the place of port p on the sheet.
func (it *Item) PortAt(p int) Point {
	o := it.Ports[p].Offset
	return Point{it.At.X + o.X, it.At.Y + o.Y}
}

// place is where the end of an edge stands on the sheet.
func (sh *Sheet) place(e End) Point { return sh.Items[e.Item].PortAt(e.Port) }

// undo is the turn that takes another one back.
func (t Turn) undo() Turn { return [...]Turn{TurnEast, TurnNorth, TurnWest, TurnSouth}[t] }

// basePort is port p as it would be if the item pointed east.
func (it *Item) basePort(p int) Port {
	q := it.Ports[p]
	back := it.Turn.undo()
	q.Offset, q.Side = back.point(q.Offset), back.side(q.Side)
	return q
}

func (it *Item) turn(t Turn) {
	back := it.Turn.undo()
	it.Extent = it.Extent.turned(back).turned(t)
	for i := range it.Ports {
		p := &it.Ports[i]
		p.Offset = t.point(back.point(p.Offset))
		p.Side = t.side(back.side(p.Side))
	}
	it.Turn = t
}

// End is one end of an edge: an item and one of its ports, as indices.
type End struct{ Item, Port int }

// Edge joins two ports: one hop of a line between two stops of its route, or a signal.
type Edge struct {
	// Line is the tag of the line; empty for a signal.
	Line string
	// Hop counts the hops of the line from 0.
	Hop int
	// From and To in the direction of normal flow.
	From, To End
	// Service of the line.
	Service skidrulev1.Service
	// Size as text, as `DN 15`; empty where it is not stated.
	Size string
	// Signal lines carry no fluid.
	Signal bool
	// Path has the corners from port to port in modules; the first and last are the ports.
	Path []Point

	fromSide, toSide Side // sides at which the line meets free ports
	tap              bool // no flow: ends at an instrument or cap
	weight           int
}

// Sheet is one page of the diagram.
type Sheet struct {
	// Number of the sheet from 1, and how many there are.
	Number, Of int
	// Name of what the sheet shows, as a train; may be empty.
	Name string
	// Items and Edges of the sheet.
	Items []Item
	Edges []Edge
}

type flowRole uint8

const (
	flowUnknown flowRole = iota
	flowSource
	flowSink
)

func (sh *Sheet) sideOf(e *Edge, to bool) Side {
	end, free := e.From, e.fromSide
	if to {
		end, free = e.To, e.toSide
	}
	p := &sh.Items[end.Item].Ports[end.Port]
	if p.Free {
		return free
	}
	return p.Side
}
