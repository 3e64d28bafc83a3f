package plant

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

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
