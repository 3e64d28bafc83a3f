package plant

import (
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// statedPorts attaches stated port data and adds stated ports of repeatable or free names.
func (r *resolver) statedPorts(index int32) {
	p := r.plant
	for _, stated := range p.Components[index].Data.GetPorts() {
		port, ok := r.port(index, stated.GetName(), true)
		if !ok {
			c := &p.Components[index]
			r.problem("components."+c.Tag+".ports."+stated.GetName(), portGuess(stated.GetName(), c.Kind.Info()), "%s has no port %q", aKind(c.Kind), stated.GetName())
			continue
		}
		p.Ports[port].Stated = stated
	}
}

// port finds a port by name and, where add is set and the component is the last one so far, adds a repeated or free one.
func (r *resolver) port(index int32, name string, add bool) (int32, bool) {
	p := r.plant
	c := &p.Components[index]
	info := c.Kind.Info()
	base, ordinal, ok := info.portIndex(name)
	if ok && ordinal == 1 {
		return c.FirstPort + int32(base), true
	}
	for i := c.FirstPort + int32(len(info.Ports)); i < c.FirstPort+c.NumPorts; i++ {
		q := &p.Ports[i]
		if ok && q.Ordinal == ordinal && int(q.Trait) == base || !ok && q.Trait < 0 && q.free == name {
			return i, true
		}
	}
	if !ok && !info.FreePorts || !add || name == "" {
		return 0, false
	}
	extra := Port{Component: index, Trait: -1, Ordinal: 1, Phase: skidrulev1.Phase_PHASE_ANY, Direction: skidrulev1.FlowDirection_FLOW_DIRECTION_EITHER, free: name}
	if ok {
		extra = Port{Component: index, Trait: int16(base), Ordinal: ordinal, Phase: info.Ports[base].Phase, Direction: info.Ports[base].Direction}
	}
	p.Ports = append(p.Ports, extra)
	c.NumPorts++
	return int32(len(p.Ports)) - 1, true
}

// repeatedPorts adds the repeated and free ports that routes use without the component stating them. Ports of one component
// lie side by side, so all of them must be known before pipes are laid; the arrays are rebuilt only where any is missing.
func (r *resolver) repeatedPorts() {
	p := r.plant
	wanted := map[int32][]string{}
	for _, l := range r.order.lines {
		for i, stop := range p.Design.GetLines()[l].GetRoute() {
			index := r.stop(int(l), i)
			if index < 0 {
				continue
			}
			for _, name := range [2]string{stop.GetEnter(), stop.GetLeave()} {
				if name == "" {
					continue
				}
				info := p.Components[index].Kind.Info()
				_, ordinal, known := info.portIndex(name)
				if known && ordinal == 1 || !known && !info.FreePorts {
					continue
				}
				if _, there := r.port(index, name, false); !there && !slices.Contains(wanted[index], name) {
					wanted[index] = append(wanted[index], name)
				}
			}
		}
	}
	if len(wanted) > 0 {
		r.rebuildPorts(wanted)
	}
	r.addPassages()
}

// stop gives the component of a route stop by the line's place in the design; -1 where its tag is not there.
func (r *resolver) stop(line, i int) int32 {
	place := r.order.stops[r.order.stopStart[line]+int32(i)]
	if place < 0 {
		return -1
	}
	return r.plant.at[place]
}

// rebuildPorts lays the ports out again with room for the wanted ones.
func (r *resolver) rebuildPorts(wanted map[int32][]string) {
	p := r.plant
	old := p.Ports
	p.Ports = make([]Port, 0, len(old)+len(wanted))
	shift := make([]int32, len(p.Components))
	for i := range p.Components {
		c := &p.Components[i]
		from := c.FirstPort
		shift[i] = int32(len(p.Ports)) - from
		c.FirstPort = int32(len(p.Ports))
		p.Ports = append(p.Ports, old[from:from+c.NumPorts]...)
		for _, name := range wanted[int32(i)] {
			r.port(int32(i), name, true)
		}
	}
	for i := range p.Ways {
		d := shift[p.Ways[i].Component]
		p.Ways[i].From += d
		p.Ways[i].To += d
	}
}

// addPassages joins repeated ports inside the component as their first namesake is joined, and to that namesake: fluid that
// reaches one inlet of a vessel can leave by another when the flow turns round.
func (r *resolver) addPassages() {
	p := r.plant
	for i := range p.Components {
		c := &p.Components[i]
		info := c.Kind.Info()
		beyond := c.FirstPort + int32(len(info.Ports)) // the first that is not the kind's own
		for port := beyond; port < c.FirstPort+c.NumPorts; port++ {
			q := &p.Ports[port]
			if q.Trait < 0 {
				if passesBetweenFreePorts(c) {
					for k := beyond; k < port; k++ {
						p.Ways = append(p.Ways, Way{From: k, To: port, Component: int32(i), Line: -1, Step: -1})
					}
				}
				continue
			}
			own := c.FirstPort + int32(q.Trait)
			p.Ways = append(p.Ways, Way{From: own, To: port, Component: int32(i), Line: -1, Step: -1})
			for s, passage := range info.Passages {
				w := Way{Component: int32(i), Line: -1, Step: int32(s)}
				switch int16(q.Trait) {
				case int16(passage[0]):
					w.From, w.To = port, c.FirstPort+int32(passage[1])
				case int16(passage[1]):
					w.From, w.To = c.FirstPort+int32(passage[0]), port
				default:
					continue
				}
				p.Ways = append(p.Ways, w)
			}
		}
	}
}

// passesBetweenFreePorts tells whether fluid may pass between the ports of a component whose kind leaves ports free. Where
// that is not stated it may: a way that is not known to be shut is a way.
func passesBetweenFreePorts(c *Component) bool {
	o, ok := c.Data.GetSpec().(*skidrulev1.Component_Other)
	if !ok {
		return true
	}
	return o.Other.PassesFluid == nil || *o.Other.PassesFluid
}
