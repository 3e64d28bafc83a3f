package plant

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Lots are a plant divided into plants of their own, between which nothing flows. Where nothing is named from one to another either, what
// is true of a component in its lot is true of it in the whole; see [Plant.Lots] and [Plant.FlowIslands]. A large plant is mostly several skids side by side. Asked lot by lot, what is computed of one
// lies close together in memory and is let go before the next.
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

// Islands numbers the islands, in order of their first components, and gives that of each component and how many there are. What is
// joined by lines, or named by tag, is one island.
func (p *Plant) Islands() (of []int32, count int) {
	roots := flowpath.Sets(nil)
	if p.lot == nil {
		roots = p.islands()
	}
	of = make([]int32, len(p.Components))
	for i := range of {
		root := int32(i)
		if p.lot == nil {
			root = roots.Root(root)
		} else {
			lots := p.lot.lots
			root = lots.place[lots.roots[p.lot.WholeComponent(root)]]
		}
		if of[i] = of[root]; root == int32(i) {
			of[i] = int32(count)
			count++
		}
	}
	return of, count
}

// islands are the components that flow or a name joins; the root of each is its first component.
func (p *Plant) islands() flowpath.Sets {
	islands := flowpath.NewSets(len(p.Components))
	p.eachPipe(islands.Join)
	for _, pairs := range p.named() {
		for _, pair := range pairs {
			islands.Join(pair[0], pair[1])
		}
	}
	p.gatherStrays(islands)
	return islands
}

// joined are the components that lines join. Those that no line joins to anything are one more, or belong to the only one that there is.
func (p *Plant) joined() flowpath.Sets {
	islands, piped := flowpath.NewSets(len(p.Components)), flowpath.NewSet(len(p.Components))
	p.eachPipe(func(a, b int32) {
		islands.Join(a, b)
		piped.Add(a)
		piped.Add(b)
	})
	stray, only, several := flowpath.None, flowpath.None, false
	for i := range int32(len(p.Components)) {
		switch root := islands.Root(i); {
		case piped.Has(i):
			several = several || only != flowpath.None && only != root
			only = root
		case stray == flowpath.None:
			stray = i
		default:
			islands.Join(stray, i)
		}
	}
	if stray != flowpath.None && only != flowpath.None && !several {
		islands.Join(stray, only)
	}
	return islands
}

// MostJoined is the number of components on the largest flow island.
func (p *Plant) MostJoined() int {
	islands := flowpath.NewSets(len(p.Components))
	p.eachPipe(islands.Join)
	most, sizes := 0, make([]int, len(p.Components))
	for i := range p.Components {
		root := islands.Root(int32(i))
		sizes[root]++
		most = max(most, sizes[root])
	}
	return most
}

// eachPipe gives the components at both ends of each pipe.
func (p *Plant) eachPipe(yield func(a, b int32)) {
	for i := range p.Ways {
		if w := &p.Ways[i]; w.IsPipe() {
			yield(p.Ports[w.From].Component, p.Ports[w.To].Component)
		}
	}
}

// named lists which component names which.
func (p *Plant) named() [][][2]int32 {
	out := make([][][2]int32, shares(len(p.Components)))
	share(len(p.Components), func(run, from, to int) {
		last, at := "", int32(0)
		for i := from; i < to; i++ {
			p.Components[i].names(func(tag string) {
				// Neighbours often name the same controller.
				if tag != last {
					index, drawn := p.FindComponent(tag)
					if !drawn {
						return
					}
					last, at = tag, index
				}
				out[run] = append(out[run], [2]int32{int32(i), at})
			})
		}
	})
	return out
}

// gatherStrays joins what is joined to nothing, as an emergency stop that is not wired yet, to the only island that has a generator:
// in the drawing of one skid it can only belong there.
func (p *Plant) gatherStrays(islands flowpath.Sets) {
	only := flowpath.None
	for i := range p.Components {
		if p.Components[i].Kind != KindOzoneGenerator {
			continue
		}
		root := islands.Root(int32(i))
		if only != flowpath.None && root != islands.Root(only) {
			return
		}
		only = root
	}
	if only == flowpath.None {
		return
	}
	joined := flowpath.NewSet(len(p.Components))
	for i := range p.Components {
		if root := islands.Root(int32(i)); root != int32(i) {
			joined.Add(int32(i))
			joined.Add(root)
		}
	}
	for i := range p.Components {
		if !joined.Has(int32(i)) {
			islands.Join(int32(i), only)
		}
	}
}

// names gives every tag by which the component names another.
func (c *Component) names(yield func(tag string)) {
	name := func(tag string) {
		if tag != "" {
			yield(tag)
		}
	}
	each := func(tags []string) {
		for _, tag := range tags {
			yield(tag)
		}
	}
	name(c.Data.GetCommandedBy())
	switch s := c.Data.GetSpec().(type) {
	case *skidrulev1.Component_OzoneGenerator:
		each(s.OzoneGenerator.GetPowerSupplies())
	case *skidrulev1.Component_ActuatedValve:
		each(s.ActuatedValve.GetOpenedBy())
	case *skidrulev1.Component_LevelSwitch:
		name(s.LevelSwitch.GetWatches())
	case *skidrulev1.Component_TemperatureSwitch:
		name(s.TemperatureSwitch.GetWatches())
	case *skidrulev1.Component_EnclosureSwitch:
		name(s.EnclosureSwitch.GetWatches())
	}
	for _, a := range c.Actions() {
		name(a.GetOn())
		each(a.GetStops())
		each(a.GetCloses())
		each(a.GetOpens())
	}
}
