package fact

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// guard is what stands between process water and the generators, for all of them in one sweep. "Sure" counts only barriers
// that are known to hold, "hoped" those too that would hold if missing data turns out well.
type guard struct {
	sources []int32
	subject []int32 // gas ports of the generators, two for each, in order of components
	first   map[int32]int32

	open     *flowpath.Ways // every way with all barriers failed
	sureWays *flowpath.Ways

	sure, hoped flowpath.Weakest
	causes      sole // cause groups
	kinds       sole // kinds of barrier
}

// sole finds groups of barriers that alone stand before a subject.
type sole struct {
	names []string
	sure  flowpath.CauseGroups
	hoped flowpath.CauseGroups
}

var guardFacts = []Definition{
	truthFact("water_can_come", "There is a gas path, barriers or not, from pressurised process water to the generator's gas ports.",
		func(w *World, at At) Truth { return Is(w.guard().reached(at.Index)) }, plant.KindOzoneGenerator),
	countFact("water_barriers", "Barriers on the weakest gas path from pressurised process water to the generator.",
		func(w *World, at At) Number { return w.waterBarriers(at.Index) }, plant.KindOzoneGenerator),
	pathFact("water_path", "The weakest gas path from pressurised process water to the generator.",
		func(w *World, at At) Path { return w.waterPath(at.Index) }, plant.KindOzoneGenerator),
	countFact("sole_causes", "Causes of failure each of which alone opens a path from water to the generator.",
		func(w *World, at At) Number { return w.soleGroups(at.Index, &w.guard().causes) }, plant.KindOzoneGenerator),
	textFact("sole_cause", "Name of the first such cause.",
		func(w *World, at At) Text { return Text{Value: w.guard().soleName(at.Index, &w.guard().causes)} }, plant.KindOzoneGenerator),
	pathFact("sole_cause_path", "The path that it opens.",
		func(w *World, at At) Path { return w.solePath(at.Index, &w.guard().causes) }, plant.KindOzoneGenerator),
	countFact("sole_barrier_kinds", "Kinds of barrier each of which alone guards a path from water to the generator.",
		func(w *World, at At) Number { return w.soleGroups(at.Index, &w.guard().kinds) }, plant.KindOzoneGenerator),
	textFact("sole_barrier_kind", "Name of the first such kind.",
		func(w *World, at At) Text { return Text{Value: w.guard().soleName(at.Index, &w.guard().kinds)} }, plant.KindOzoneGenerator),
	pathFact("sole_barrier_kind_path", "The path that has no other kind of barrier.",
		func(w *World, at At) Path { return w.solePath(at.Index, &w.guard().kinds) }, plant.KindOzoneGenerator),
}

func (w *World) guard() *guard { return w.backflow.guard.get(w.computeGuard) }

func (w *World) computeGuard() *guard {
	p, g := w.Plant, &guard{first: map[int32]int32{}}
	g.sources = w.processWaterPorts()
	for _, c := range w.OfKind(plant.KindOzoneGenerator) {
		g.first[c] = int32(len(g.subject))
		g.subject = append(g.subject, p.PortByTrait(c, 0), p.PortByTrait(c, 1))
	}
	graph := w.Graph()
	sure, hoped, open := make([]uint8, graph.NumArcs()), make([]uint8, graph.NumArcs()), make([]uint8, graph.NumArcs())
	var causes, kinds grouping
	for way := range p.Ways {
		if p.Ways[way].IsPipe() {
			continue
		}
		var own []int32
		for d := range 2 {
			arc := 2*way + d
			h, _, _ := w.waterHolding(int32(way), d == 0)
			switch h {
			case noWay:
				sure[arc], hoped[arc], open[arc] = flowpath.Blocked, flowpath.Blocked, flowpath.Blocked
			case holds:
				sure[arc], hoped[arc] = flowpath.Barrier, flowpath.Barrier
			case maybeHolds:
				hoped[arc] = flowpath.Barrier
			}
			if h == holds || h == maybeHolds {
				component := p.Ways[way].Component
				if own == nil {
					// Both directions fail by the same causes.
					own = causes.idsOf(w.causesOf(component))
				}
				for _, cause := range own {
					causes.put(int32(arc), cause)
				}
				kinds.add(int32(arc), p.Components[component].Kind.Info().Title)
			}
		}
	}
	var err error
	g.open, err = flowpath.NewWays(graph, open)
	must(err)
	g.sureWays, err = flowpath.NewWays(graph, sure)
	must(err)
	hopedWays, err := flowpath.NewWays(graph, hoped)
	must(err)
	must(g.sure.Sweep(g.sureWays, flowpath.Forward, g.sources))
	must(g.hoped.Sweep(hopedWays, flowpath.Forward, g.sources))
	g.causes.sweep(graph, &causes, g)
	g.kinds.sweep(graph, &kinds, g)
	return g
}

// causesOf names the causes of failure of a barrier: itself, and what it may share with others.
func (w *World) causesOf(component int32) []string {
	return append([]string{"component " + w.data(component).GetTag()}, w.sharedCausesOf(component)...)
}

// sharedCausesOf names the causes of failure of a barrier that others may have as well: what it states that it shares, and what must
// act for it to close. A valve that closes without power or air does not fail with them.
func (w *World) sharedCausesOf(component int32) []string {
	data := w.data(component)
	causes := slices.Clone(data.GetSharesCause())
	if w.Plant.Components[component].Kind == plant.KindActuatedValve {
		if data.GetCommandedBy() != "" {
			causes = append(causes, "controller "+data.GetCommandedBy())
		}
		if data.GetFailPosition() != skidrulev1.FailPosition_FAIL_POSITION_CLOSED {
			if data.GetPowerFeed() != "" {
				causes = append(causes, "power feed "+data.GetPowerFeed())
			}
			if data.GetAirFeed() != "" {
				causes = append(causes, "air feed "+data.GetAirFeed())
			}
		}
	}
	return causes
}

// grouping collects pairs of arc and group name.
type grouping struct {
	ids    map[string]int32
	names  []string
	arcs   []int32
	groups []int32
}

func (g *grouping) add(arc int32, name string) { g.put(arc, g.id(name)) }

func (g *grouping) put(arc, group int32) {
	g.arcs, g.groups = append(g.arcs, arc), append(g.groups, group)
}

// idsOf gives the numbers of some groups.
func (g *grouping) idsOf(names []string) []int32 {
	out := make([]int32, len(names))
	for i, name := range names {
		out[i] = g.id(name)
	}
	return out
}

func (g *grouping) id(name string) int32 {
	if g.ids == nil {
		g.ids = map[string]int32{}
	}
	id, ok := g.ids[name]
	if !ok {
		id = int32(len(g.names))
		g.ids[name] = id
		g.names = append(g.names, name)
	}
	return id
}

// sweep answers which groups alone stand before the subjects.
func (s *sole) sweep(graph *flowpath.Graph, in *grouping, g *guard) {
	groups, err := flowpath.NewGroups(graph, len(in.names), in.arcs, in.groups)
	must(err)
	s.names = in.names
	must(s.sure.Sweep(&g.sure, groups, g.subject))
	must(s.hoped.Sweep(&g.hoped, groups, g.subject))
}

// processWaterPorts lists the ports where process water stands under pressure: liquid boundaries, pumps, injectors and the
// vessels behind them. A trap's own sump and cooling water are not among them.
func (w *World) processWaterPorts() []int32 {
	p := w.Plant
	var out []int32
	for i := range p.Components {
		c := &p.Components[i]
		switch c.Kind {
		case plant.KindPump, plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank:
			out = append(out, c.FirstPort, c.FirstPort+1)
		case plant.KindVenturiInjector:
			out = append(out, p.PortByTrait(int32(i), 0), p.PortByTrait(int32(i), 2))
		case plant.KindBoundary:
			switch c.Data.GetBoundary().GetService() {
			case skidrulev1.Service_SERVICE_PROCESS_WATER, skidrulev1.Service_SERVICE_OZONATED_WATER:
				out = append(out, c.FirstPort)
			}
		}
	}
	return out
}

// highestWaterPressure is the highest pressure that process water can have anywhere in the island of a component: stated boundaries
// and, behind the highest of them, the strongest pumps in series.
func (w *World) highestWaterPressure(component int32) Number {
	return (*w.backflow.water.get(w.findHighestWater))[w.island(component)]
}

// findHighestWater finds it for each island.
func (w *World) findHighestWater() *[]Number {
	highest := byIsland(w, Exactly(0))
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		switch b.GetService() {
		case skidrulev1.Service_SERVICE_PROCESS_WATER, skidrulev1.Service_SERVICE_OZONATED_WATER:
			// The normal pressure is no highest one: without that the highest is known only from below.
			top := w.number(b.MaxPressurePaGauge, specRef(c, "max_pressure"))
			if b.MaxPressurePaGauge == nil && b.PressurePaGauge != nil {
				top.Low = max(top.Low, *b.PressurePaGauge)
			}
			at := w.island(c)
			highest[at] = highest[at].Max(top)
		}
	}
	for i, chain := range w.pumpChains() {
		highest[i] = highest[i].Add(chain)
	}
	return &highest
}

// shutOffHead is a pump's stated shut-off head, or its curve's head at no flow.
func shutOffHead(pump *skidrulev1.Pump) *float64 {
	if pump.GetShutOffHeadPa() != 0 {
		return pump.ShutOffHeadPa
	}
	for _, point := range pump.GetCurve() {
		if point.FlowM3PerS != nil && *point.FlowM3PerS == 0 {
			return point.HeadPa
		}
	}
	return nil
}

// reached tells whether any path leads from water to the generator's gas ports.
func (g *guard) reached(generator int32) bool {
	i := g.first[generator]
	return g.sure.Reached(g.subject[i]) || g.sure.Reached(g.subject[i+1])
}

// worst gives the gas port of the generator with the weakest path.
func (g *guard) worst(wk *flowpath.Weakest, generator int32) int32 {
	i := g.first[generator]
	a, b := g.subject[i], g.subject[i+1]
	if !wk.Reached(a) || wk.Reached(b) && wk.Barriers(b) < wk.Barriers(a) {
		return b
	}
	return a
}

// waterBarriers counts the barriers on the weakest path, with the missing data of doubtful ones.
func (w *World) waterBarriers(generator int32) Number {
	g := w.guard()
	low, high := g.worst(&g.sure, generator), g.worst(&g.hoped, generator)
	if !g.sure.Reached(low) {
		return between(math.Inf(1), math.Inf(1))
	}
	n := Number{Low: float64(g.sure.Barriers(low)), High: float64(g.hoped.Barriers(high))}
	if n.Low < n.High {
		arcs, _ := g.sure.Path(low)
		n.Missing = w.doubts(arcs)
	}
	return n
}

// doubts names the missing data of passages on a path that may or may not hold water.
func (w *World) doubts(arcs []int32) []Ref { return doubtsOn(arcs, w.waterHolding) }

// doubtsOn names the missing data of passages on a path that may or may not hold, as they are judged.
func doubtsOn(arcs []int32, judge func(way int32, forward bool) (holding, string, []Ref)) []Ref {
	var refs []Ref
	for _, arc := range arcs {
		if h, _, missing := judge(arc/2, arc%2 == 0); h == maybeHolds {
			refs = joinRefs(refs, missing)
		}
	}
	return refs
}

// waterRole tells what a passage does to water, for paths that are shown.
func (w *World) waterRole(way int32, forward bool) (skidrulev1.StepRole, string) {
	return w.shownRole(w.waterHolding(way, forward))
}

func (w *World) waterPath(generator int32) Path {
	g := w.guard()
	port := g.worst(&g.sure, generator)
	arcs, ok := g.sure.Path(port)
	if !ok {
		return nil
	}
	return w.wayPath(g.sure.Source(port), arcs, w.waterRole)
}

// soleGroups counts the groups that alone stand before the generator. Where it is not guarded at all there is no such group:
// that is the business of the count of barriers.
func (w *World) soleGroups(generator int32, s *sole) Number {
	g := w.guard()
	count := func(c *flowpath.CauseGroups) float64 {
		seen := map[int32]bool{}
		for k := range int32(2) {
			for _, group := range c.Groups(int(g.first[generator] + k)) {
				seen[group] = true
			}
		}
		return float64(len(seen))
	}
	n := Number{Low: count(&s.hoped), High: count(&s.sure)}
	if n.Low > n.High {
		n.Low, n.High = n.High, n.Low
	}
	if n.Low < n.High {
		for k := range int32(2) {
			i := int(g.first[generator] + k)
			for _, group := range s.sure.Groups(i) {
				arcs, _ := s.sure.Path(i, group)
				n.Missing = joinRefs(n.Missing, w.doubts(arcs))
			}
		}
	}
	return n
}

// firstSole gives subject and group of the alphabetically first group that alone stands there.
func (g *guard) firstSole(generator int32, s *sole) (subject int, group int32, ok bool) {
	type candidate struct {
		subject int
		group   int32
	}
	var all []candidate
	for k := range int32(2) {
		i := int(g.first[generator] + k)
		for _, group := range s.sure.Groups(i) {
			all = append(all, candidate{i, group})
		}
	}
	if len(all) == 0 {
		return 0, 0, false
	}
	first := slices.MinFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(s.names[a.group], s.names[b.group]), cmp.Compare(a.subject, b.subject))
	})
	return first.subject, first.group, true
}

func (g *guard) soleName(generator int32, s *sole) string {
	_, group, ok := g.firstSole(generator, s)
	if !ok {
		return ""
	}
	return s.names[group]
}

func (w *World) solePath(generator int32, s *sole) Path {
	g := w.guard()
	subject, group, ok := g.firstSole(generator, s)
	if !ok {
		return nil
	}
	arcs, _ := s.sure.Path(subject, group)
	return w.arcsPath(arcs, w.waterRole)
}

// must stops on an error that valid ids cannot cause.
func must(err error) {
	if err != nil {
		panic("fact: " + strconv.Quote(err.Error()))
	}
}
