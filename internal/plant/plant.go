package plant

import (
	"slices"
	"strconv"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Plant is a resolved design. It is read-only after Resolve and safe for concurrent use.
type Plant struct {
	Design     *skidrulev1.Design
	Basis      *skidrulev1.Basis // never nil
	Components []Component       // in the order that arrange gives
	Lines      []Line            // in the order that arrange gives
	Ports      []Port            // grouped by component
	Ways       []Way             // internal passages first, grouped by component, then pipes, grouped by line
	tags       map[string]int32  // place in the design of a component, or ^index of a line
	at         []int32           // component index of each place; -1 for one that cannot be resolved
	// waysAt lists the indexes of the ways by the ports that they join.
	waysAt grouped
	// assumed maps an element path to its assumption.
	assumed map[string]*skidrulev1.Assumption
	// lot tells which part of a larger plant this is, whose tags it shares; nil for a whole one.
	lot *Lot
}

// Component is one resolved component.
type Component struct {
	Tag  string
	Kind Kind
	// Data is what holds for it: what the design states, and behind that what its catalogue entry states.
	Data *skidrulev1.Component
	// Stated is the component as the design states it.
	Stated *skidrulev1.Component
	// Entry is the catalogue entry that it names; nil where it names none.
	Entry     *skidrulev1.CatalogueEntry
	FirstPort int32
	NumPorts  int32
}

// Line is one resolved line.
type Line struct {
	Tag      string
	Data     *skidrulev1.Line
	FirstWay int32 // pipes of the line are Ways[FirstWay:FirstWay+NumWays]
	NumWays  int32
}

// Port is one end at which a component is joined.
type Port struct {
	Component int32
	Trait     int16 // index into the kind's ports; -1 for a port of a component whose kind leaves ports free
	Ordinal   int16 // 1 for the kind's own name, 2 and up for repeated ports
	Phase     skidrulev1.Phase
	Direction skidrulev1.FlowDirection
	Joints    int32 // how many line ends meet here; a line that runs past an instrument counts twice
	Stated    *skidrulev1.Port
	free      string
}

// Way is a passage that fluid can take: inside a component, or a pipe of a line between two neighbouring stops. From and
// To are ports in the direction of normal flow.
type Way struct {
	From, To  int32
	Component int32 // component index of a passage, -1 for a pipe
	Line      int32 // line index of a pipe, -1 for a passage
	Step      int32 // for a passage the kind's passage index, for a pipe the index of the stop it starts from
}

// IsPipe tells a pipe from a passage inside a component.
func (w *Way) IsPipe() bool { return w.Line >= 0 }

// Name is the port's name as the schema gives it.
func (p *Plant) PortName(port int32) string {
	q := &p.Ports[port]
	if q.Trait < 0 {
		return q.free
	}
	name := p.Components[q.Component].Kind.Info().Ports[q.Trait].Name
	if q.Ordinal > 1 {
		return name + "_" + strconv.Itoa(int(q.Ordinal))
	}
	return name
}

// PortLabel is the port as people write it, TAG.port.
func (p *Plant) PortLabel(port int32) string {
	return p.Components[p.Ports[port].Component].Tag + "." + p.PortName(port)
}

// DataByTag gives the data of the components, those of their parts applied, by tag.
func (p *Plant) DataByTag() map[string]*skidrulev1.Component {
	data := make(map[string]*skidrulev1.Component, len(p.Components))
	for i := range p.Components {
		data[p.Components[i].Tag] = p.Components[i].Data
	}
	return data
}

// FindComponent gives the index of the component with the tag.
func (p *Plant) FindComponent(tag string) (int32, bool) {
	place, ok := p.tags[tag]
	if !ok || place < 0 || p.at[place] < 0 {
		return 0, false
	}
	if p.lot != nil {
		return p.lot.Place(p.at[place])
	}
	return p.at[place], true
}

// FindLine gives the index of the line with the tag.
func (p *Plant) FindLine(tag string) (int32, bool) {
	i, ok := p.tags[tag]
	if !ok || i >= 0 {
		return 0, false
	}
	if p.lot != nil {
		place, ok := slices.BinarySearch(p.lot.lots.lines.of(p.lot.index), ^i)
		return int32(place), ok
	}
	return ^i, true
}

// FindPort gives the port of a component by name; false where the component has no such port or does not use it.
func (p *Plant) FindPort(component int32, name string) (int32, bool) {
	c := &p.Components[component]
	for i := c.FirstPort; i < c.FirstPort+c.NumPorts; i++ {
		if p.PortName(i) == name {
			return i, true
		}
	}
	return 0, false
}

// PortByTrait gives the component's port with the kind's port index, the first where it is repeated.
func (p *Plant) PortByTrait(component int32, trait int) int32 {
	return p.Components[component].FirstPort + int32(trait)
}

// WaysAt lists the ids of the ways that meet at a port.
func (p *Plant) WaysAt(port int32) []int32 { return p.waysAt.of(port) }

// indexWays fills waysAt by counting sort.
func (p *Plant) indexWays() {
	start := make([]int32, len(p.Ports)+1)
	for i := range p.Ways {
		start[p.Ways[i].From+1]++
		if p.Ways[i].To != p.Ways[i].From {
			start[p.Ways[i].To+1]++
		}
	}
	for i := 1; i < len(start); i++ {
		start[i] += start[i-1]
	}
	at := make([]int32, start[len(start)-1])
	next := make([]int32, len(p.Ports))
	copy(next, start)
	for i := range p.Ways {
		w := &p.Ways[i]
		at[next[w.From]] = int32(i)
		next[w.From]++
		if w.To != w.From {
			at[next[w.To]] = int32(i)
			next[w.To]++
		}
	}
	p.waysAt = grouped{start, at}
}
