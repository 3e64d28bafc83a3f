package plant

import "github.com/skidrule/skidrule/internal/flowpath"

// Lots are a plant divided into plants of their own, between which nothing flows. Where nothing is named from one to another either, what
// is true of a component in its lot is true of it in the whole; see [Plant.Lots] and [Plant.FlowIslands]. A large plant is mostly several
// skids side by side. Asked lot by lot, what is computed of one lies close together in memory and is let go before the next.
type Lots struct {
	whole *Plant
	roots flowpath.Sets // first component of the island of each
	of    []int32       // lot of each component
	place []int32       // index of each component within its lot
	// What belongs to each lot, in the order of the whole.
	components, lines, ways grouped
}

// Lot is one of them. Its components, lines, ports and ways stand in the order of the whole and have indexes of their own.
type Lot struct {
	*Plant
	lots  *Lots
	index int32
}

// Lots divides the plant into lots of about so many components. What is joined by lines, or named by tag, stays in one lot, however
// large that is.
func (p *Plant) Lots(size int) *Lots { return p.lots(p.islands(), size) }

// FlowIslands divides the plant into lots between which nothing flows: what lines join is one, and what no line joins to anything
// another. What a component names may stand in another lot, and the islands of such a lot are those of flow: it is for solving, which
// looks at no names.
func (p *Plant) FlowIslands() *Lots { return p.lots(p.joined(), 1) }

func (p *Plant) lots(islands flowpath.Sets, size int) *Lots {
	counted := make([]int32, len(p.Components))
	for i := range p.Components {
		// From here on the entry of each is its root, and reading changes nothing.
		islands[i] = islands.Root(int32(i))
		counted[islands[i]]++
	}
	// An island is put into the lot that is being filled when its first component comes.
	l := &Lots{whole: p, roots: islands, of: make([]int32, len(p.Components)), place: make([]int32, len(p.Components))}
	lot, filled := int32(0), 0
	for i := range p.Components {
		root := islands[i]
		if root == int32(i) {
			if filled > 0 && filled+int(counted[i]) > size {
				lot, filled = lot+1, 0
			}
			l.of[i] = lot
			filled += int(counted[i])
		}
		l.of[i] = l.of[root]
	}
	n := lot + 1
	l.components = group(len(p.Components), n, func(i int32) int32 { return l.of[i] })
	l.lines = group(len(p.Lines), n, func(i int32) int32 { return l.ofPort(p.Ways[p.Lines[i].FirstWay].From) })
	l.ways = group(len(p.Ways), n, func(i int32) int32 { return l.ofPort(p.Ways[i].From) })
	for k := range n {
		for place, i := range l.components.of(k) {
			l.place[i] = int32(place)
		}
	}
	return l
}

func (l *Lots) ofPort(port int32) int32 { return l.of[l.whole.Ports[port].Component] }

// Len is the number of lots.
func (l *Lots) Len() int { return len(l.components.start) - 1 }

// Size is the number of components of a lot.
func (l *Lots) Size(lot int) int { return len(l.components.of(int32(lot))) }

// Lot lays out one lot as a plant.
func (l *Lots) Lot(index int) *Lot {
	whole, lot := l.whole, int32(index)
	components, lines, ways := l.components.of(lot), l.lines.of(lot), l.ways.of(lot)
	p := &Plant{
		Design: whole.Design, Basis: whole.Basis, tags: whole.tags, at: whole.at, assumed: whole.assumed,
		Components: make([]Component, len(components)), Lines: make([]Line, len(lines)), Ways: make([]Way, len(ways)),
	}
	ports := int32(0)
	for at, i := range components {
		p.Components[at] = whole.Components[i]
		p.Components[at].FirstPort = ports
		ports += p.Components[at].NumPorts
	}
	p.Ports = make([]Port, 0, ports)
	for at, i := range components {
		c := &whole.Components[i]
		for q := c.FirstPort; q < c.FirstPort+c.NumPorts; q++ {
			p.Ports = append(p.Ports, whole.Ports[q])
			p.Ports[len(p.Ports)-1].Component = int32(at)
		}
	}
	port := func(q int32) int32 {
		c := whole.Ports[q].Component
		return p.Components[l.place[c]].FirstPort + q - whole.Components[c].FirstPort
	}
	line, first := int32(-1), int32(-1)
	for at, i := range ways {
		w := whole.Ways[i]
		w.From, w.To = port(w.From), port(w.To)
		if w.IsPipe() {
			if w.Line != first {
				line, first = line+1, w.Line
				p.Lines[line] = whole.Lines[w.Line]
				p.Lines[line].FirstWay = int32(at)
			}
			w.Line = line
		} else {
			w.Component = l.place[w.Component]
		}
		p.Ways[at] = w
	}
	p.indexWays()
	p.lot = &Lot{Plant: p, lots: l, index: lot}
	return p.lot
}

// WholeComponent is the index in the whole of a component of the lot.
func (l *Lot) WholeComponent(i int32) int32 { return l.lots.components.of(l.index)[i] }

// WholeLine is the index in the whole of a line of the lot.
func (l *Lot) WholeLine(i int32) int32 { return l.lots.lines.of(l.index)[i] }

// WholeWay is the index in the whole of a way of the lot.
func (l *Lot) WholeWay(i int32) int32 { return l.lots.ways.of(l.index)[i] }

// WholePipe is the number of a way of the lot, which is a pipe, among the pipes of the whole.
func (l *Lot) WholePipe(way int32) int32 {
	return l.WholeWay(way) - l.lots.whole.Lines[0].FirstWay
}

// WholePort is the index in the whole of a port of the lot.
func (l *Lot) WholePort(i int32) int32 {
	c := l.Ports[i].Component
	return l.lots.whole.Components[l.WholeComponent(c)].FirstPort + i - l.Components[c].FirstPort
}

// Place is the index in the lot of a component of the whole; false where it stands in another.
func (l *Lot) Place(component int32) (int32, bool) {
	return l.lots.place[component], l.lots.of[component] == l.index
}
