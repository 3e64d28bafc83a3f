package fact

import (
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var endFacts = []Definition{
	countFact("mismatched_ends", "Ends of lines at it whose size or type of connection is not that of its port.",
		func(w *World, at At) Number { return w.ends(at.Index).count }),
	textFact("mismatched_end", "The first such end: port and line with size and type of both.",
		func(w *World, at At) Text { return Text{Value: w.ends(at.Index).first} }),
}

// endMatch sums up the ends of lines at a component.
type endMatch struct {
	count Number
	first string
}

// endOfPipe is how an end is made.
type endOfPipe struct {
	size       *skidrulev1.NominalSize
	connection skidrulev1.EndConnectionType
}

// String is size and type as design files spell them.
func (e endOfPipe) String() string {
	text := designfile.SizeText(e.size)
	if size, err := quantity.ParseNominalSize(text); err == nil {
		text = size.String()
	}
	if word := designfile.EnumWord(e.connection); word != "" {
		text += " " + word
	}
	return text
}

// ends compares every end of a line at a component with the port that it meets.
func (w *World) ends(component int32) endMatch {
	p := w.Plant
	c := &p.Components[component]
	m := endMatch{count: Exactly(0)}
	for i := range c.NumPorts {
		port := c.FirstPort + i
		for _, way := range p.WaysAt(port) {
			q := &p.Ways[way]
			if !q.IsPipe() {
				continue
			}
			own, sizeRef, connectionRef := w.portEnd(component, port, q.Line)
			data := p.Lines[q.Line].Data
			line := endOfPipe{data.GetSize(), data.GetConnection()}
			if own.connection == line.connection && line.connection != 0 && spelledAlike(own.size, line.size) && w.lineSize(q.Line).stated {
				continue // as nearly all ends are
			}
			fit := w.sameSize(line.size, own.size, lineRef(q.Line, "size"), sizeRef).
				And(sameConnection(line.connection, own.connection, lineRef(q.Line, "connection"), connectionRef))
			switch fit.Value {
			case False:
				m.count = m.count.Add(Exactly(1))
				if m.first == "" {
					m.first = p.PortName(port) + " (" + own.String() + ") against line " + p.Lines[q.Line].Tag + " (" + line.String() + ")"
				}
			case Undecided:
				m.count = m.count.Add(Number{Low: 0, High: 1, Missing: fit.Missing})
			}
		}
	}
	return m
}

// portEnd is how a port is made, and what names size and connection where it does not state them. Fittings that state nothing
// are made for the lines that meet at them: their end is that of another line that meets such a port.
func (w *World) portEnd(component, port, line int32) (end endOfPipe, size, connection Ref) {
	p := w.Plant
	stated := p.Ports[port].Stated
	end = endOfPipe{stated.GetSize(), stated.GetConnection()}
	size, connection = portRef(port, "size"), portRef(port, "connection")
	if end.size != nil && end.connection != 0 {
		return end, size, connection
	}
	switch p.Components[component].Kind {
	case plant.KindTee, plant.KindUnion, plant.KindCap, plant.KindJunction, plant.KindHeader:
	default:
		return end, size, connection
	}
	c := &p.Components[component]
	other := line
	for i := range c.NumPorts {
		if s := p.Ports[c.FirstPort+i].Stated; s.GetSize() != nil || s.GetConnection() != 0 {
			continue // made for its own line
		}
		for _, way := range p.WaysAt(c.FirstPort + i) {
			if l := p.Ways[way].Line; l >= 0 && l != line && (other == line || l < other) {
				other = l
			}
		}
	}
	data := p.Lines[other].Data
	if end.size == nil {
		end.size, size = data.GetSize(), lineRef(other, "size")
	}
	if end.connection == 0 {
		end.connection, connection = data.GetConnection(), lineRef(other, "connection")
	}
	return end, size, connection
}

// sameSize tells whether two sizes are one.
func (w *World) sameSize(a, b *skidrulev1.NominalSize, refA, refB Ref) Truth {
	x, errX := w.nominalSize(a)
	y, errY := w.nominalSize(b)
	var missing []Ref
	if errX != nil {
		missing = append(missing, refA)
	}
	if errY != nil {
		missing = append(missing, refB)
	}
	if len(missing) > 0 {
		return Open(joinRefs(nil, missing)...)
	}
	return Is(quantity.Same(x, y))
}

// spelledAlike tells whether two sizes are stated in the same words.
func spelledAlike(a, b *skidrulev1.NominalSize) bool {
	return a != nil && b != nil && a.GetSystem() == b.GetSystem() && a.GetDesignation() == b.GetDesignation()
}

// sameConnection tells whether two ends are joined in one way.
func sameConnection(a, b skidrulev1.EndConnectionType, refA, refB Ref) Truth {
	const unknown = skidrulev1.EndConnectionType_END_CONNECTION_TYPE_UNSPECIFIED
	switch {
	case a == unknown && b == unknown:
		return Open(joinRefs([]Ref{refA}, []Ref{refB})...)
	case a == unknown:
		return Open(refA)
	case b == unknown:
		return Open(refB)
	}
	return Is(a == b)
}
