package bench

import (
	"sort"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Answer is what both sides give.
type Answer struct {
	Barriers map[string]int      // by generator: 0, 1 or 2 for two and more
	Causes   map[string][]string // by generator, sorted; only generators with a barrier before them
	NoValve  map[string]bool     // by generator
	NoTrap   map[string]bool     // by generator
	Zones    map[string]int      // ports in the zone of a water boundary
}

// barrier tells whether a passage holds water in a direction, by the simple reading that both sides use.
func barrier(kind plant.Kind, forward bool) bool {
	switch kind {
	case plant.KindCheckValve:
		return !forward
	case plant.KindLiquidTrap, plant.KindActuatedValve:
		return true
	}
	return false
}

// Ask answers with this project's graph package.
func Ask(p *plant.Plant) (*Answer, error) {
	a := &Answer{map[string]int{}, map[string][]string{}, map[string]bool{}, map[string]bool{}, map[string]int{}}
	from, to := make([]int32, len(p.Ways)), make([]int32, len(p.Ways))
	costs, labels := make([]uint8, 2*len(p.Ways)), make([]uint8, 2*len(p.Ways))
	valves := flowpath.NewSet(2 * len(p.Ways))
	var arcs, groups []int32
	names, ids := []string(nil), map[string]int32{}
	for i := range p.Ways {
		q := &p.Ways[i]
		from[i], to[i] = q.From, q.To
		if q.IsPipe() {
			continue
		}
		c := &p.Components[q.Component]
		for d := range 2 {
			if !barrier(c.Kind, d == 0) {
				continue
			}
			arc := int32(2*i + d)
			costs[arc] = flowpath.Barrier
			for _, cause := range append([]string{c.Tag}, c.Data.GetSharesCause()...) {
				id, ok := ids[cause]
				if !ok {
					id = int32(len(names))
					ids[cause], names = id, append(names, cause)
				}
				arcs, groups = append(arcs, arc), append(groups, id)
			}
		}
		switch c.Kind {
		case plant.KindCheckValve:
			labels[2*i+1] = 1
		case plant.KindLiquidTrap:
			labels[2*i], labels[2*i+1] = 2, 2
		case plant.KindActuatedValve:
			valves.Add(int32(2 * i))
			valves.Add(int32(2*i + 1))
		}
	}
	sources, subjects, boundaries := ends(p)
	g, err := flowpath.FromPassages(len(p.Ports), from, to)
	if err != nil {
		return nil, err
	}
	ways, err := flowpath.NewWays(g, costs)
	if err != nil {
		return nil, err
	}
	var weakest flowpath.Weakest
	var causes flowpath.CauseGroups
	var reach flowpath.Reach
	var runs flowpath.Runs
	var zones flowpath.Zones
	gr, err := flowpath.NewGroups(g, len(names), arcs, groups)
	if err == nil {
		err = weakest.Sweep(ways, flowpath.Forward, sources)
	}
	if err == nil {
		err = causes.Sweep(&weakest, gr, subjects)
	}
	allOpen, errOpen := flowpath.NewWays(g, make([]uint8, len(costs)))
	if err == nil {
		err = errOpen
	}
	if err == nil {
		err = reach.Sweep(allOpen, flowpath.Forward, sources, flowpath.Avoid{Arcs: valves})
	}
	if err == nil {
		err = runs.Sweep(allOpen, flowpath.Since(1, 2), flowpath.Labels{Arcs: labels}, sources, flowpath.MayTurnBack, flowpath.Avoid{})
	}
	if err == nil {
		err = zones.SweepOpen(ways)
	}
	if err != nil {
		return nil, err
	}
	for i, s := range subjects {
		tag := p.Components[p.Ports[s].Component].Tag
		if !weakest.Reached(s) {
			continue
		}
		a.Barriers[tag] = min(2, weakest.Barriers(s))
		a.NoValve[tag] = reach.Reached(s)
		a.NoTrap[tag] = runs.States(s)&(1<<flowpath.SinceMissing) != 0
		if a.Barriers[tag] > 0 {
			alone := []string{}
			for _, k := range causes.Groups(i) {
				alone = append(alone, names[k])
			}
			sort.Strings(alone)
			a.Causes[tag] = alone
		}
	}
	for _, b := range boundaries {
		a.Zones[p.Components[p.Ports[b].Component].Tag] = len(zones.Members(zones.Zone(b)))
	}
	return a, nil
}

func water(s skidrulev1.Service) bool {
	return s == skidrulev1.Service_SERVICE_PROCESS_WATER || s == skidrulev1.Service_SERVICE_OZONATED_WATER
}

// ends lists the ports where water comes from, those of generators that it may come to, and those of water's boundaries.
func ends(p *plant.Plant) (sources, subjects, boundaries []int32) {
	for i := range p.Components {
		c := &p.Components[i]
		switch {
		case c.Kind == plant.KindVenturiInjector:
			sources = append(sources, c.FirstPort, c.FirstPort+2)
		case c.Kind == plant.KindOzoneGenerator:
			subjects = append(subjects, c.FirstPort+1)
		case c.Kind == plant.KindBoundary && water(c.Data.GetBoundary().GetService()):
			sources, boundaries = append(sources, c.FirstPort), append(boundaries, c.FirstPort)
		}
	}
	return sources, subjects, boundaries
}
