package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// carried tells for every port how much of something that filters hold back comes with the feed gas: sure counts only filters
// whose data is stated, hoped also those that would hold it back if missing data turns out well.
type carried struct {
	sure, hoped flowpath.Levels
	missing     map[int32][]Ref // by component, what would decide
}

// carrySource is where the load of the gas begins.
type carrySource struct {
	port      int32
	low, high float64
}

// carry spreads loads through filters. limit says what passes a filter; known is false where missing names what would tell.
func (w *World) carry(sources []carrySource, missing map[int32][]Ref, limit func(filter int32) (passes float64, known bool, ref Ref)) *carried {
	x := &carried{missing: missing}
	ways := w.feedWays()
	var sure, hoped arcLimits
	for i := range w.Plant.Ways {
		if w.kindOfWay(int32(i)) != plant.KindGasFilter {
			continue
		}
		filter := w.Plant.Ways[i].Component
		passes, known, ref := limit(filter)
		switch {
		case known && !math.IsInf(passes, 1):
			sure.add(2*int32(i), flowpath.LevelLimit{Value: passes})
			hoped.add(2*int32(i), flowpath.LevelLimit{Value: passes})
		case !known:
			hoped.add(2*int32(i), flowpath.LevelLimit{Value: 0})
			missing[filter] = []Ref{ref}
		}
	}
	from := func(high bool) []flowpath.LevelSource {
		list := make([]flowpath.LevelSource, len(sources))
		for i, s := range sources {
			list[i] = flowpath.LevelSource{Node: s.port, Value: s.low}
			if high {
				list[i].Value = s.high
			}
		}
		return list
	}
	must(x.sure.Sweep(flowpath.LevelInput{Ways: ways, Sources: from(true), ArcLimits: sure.of(ways.Graph()), Hold: true}))
	must(x.hoped.Sweep(flowpath.LevelInput{Ways: ways, Sources: from(false), ArcLimits: hoped.of(ways.Graph()), Hold: true}))
	return x
}

// carriedTo gives the load at a generator's feed port.
func (w *World) carriedTo(x *carried, generator int32) Number {
	port := w.Plant.PortByTrait(generator, 0)
	high, ok := x.sure.Value(port, 0)
	if !ok {
		return Missing(elementRef(generator))
	}
	low, _ := x.hoped.Value(port, 0)
	n := Number{Low: low, High: high}
	if low < high {
		arcs, _ := x.sure.Path(port, 0)
		for _, arc := range arcs {
			for _, at := range [2]int32{w.Graph().From(arc), w.Graph().To(arc)} {
				n.Missing = joinRefs(n.Missing, x.missing[w.Plant.Ports[at].Component])
			}
		}
	}
	return n
}

func (w *World) carriedPath(x *carried, generator int32) Path {
	arcs, _ := x.sure.Path(w.Plant.PortByTrait(generator, 0), 0)
	return w.arcsPath(arcs, nil)
}

func (w *World) oil() *carried { return w.feed.oil.get(w.carryOil) }

func (w *World) carryOil() *carried {
	var sources []carrySource
	missing := map[int32][]Ref{}
	machine := func(c, port int32, free Truth) {
		s := carrySource{port: port}
		switch free.Value {
		case False:
			s.low, s.high = math.Inf(1), math.Inf(1)
		case Undecided:
			s.high = math.Inf(1)
			missing[c] = free.Missing
		}
		sources = append(sources, s)
	}
	for _, c := range w.OfKind(plant.KindCompressor) {
		machine(c, w.Plant.PortByTrait(c, 1), w.truth(w.data(c).GetCompressor().OilFree, specRef(c, "oil_free")))
	}
	for _, c := range w.OfKind(plant.KindBlower) {
		machine(c, w.Plant.PortByTrait(c, 1), w.truth(w.data(c).GetBlower().OilFree, specRef(c, "oil_free")))
	}
	for _, c := range w.OfKind(plant.KindOxygenConcentrator) {
		spec := w.data(c).GetOxygenConcentrator()
		own := w.truth(spec.BuiltInCompressor, specRef(c, "built_in_compressor"))
		machine(c, w.Plant.PortByTrait(c, 1), own.Not().Or(w.truth(spec.OilFree, specRef(c, "oil_free"))))
	}
	for _, c := range w.OfKind(plant.KindGasSupply) {
		sources = append(sources, carrySource{port: w.Plant.Components[c].FirstPort})
	}
	for _, port := range w.gasEdges() {
		c := w.Plant.Ports[port].Component
		machine(c, port, Open(elementRef(c)))
	}
	return w.carry(sources, missing, func(filter int32) (float64, bool, Ref) {
		spec := w.data(filter).GetGasFilter()
		ref := specRef(filter, "residual_oil")
		if n := w.number(spec.ResidualOilKgPerM3, ref); !n.Unknown() {
			return n.High, true, ref
		}
		switch spec.GetGrade() {
		case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_PARTICULATE, skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_STERILE:
			// A dust filter that states nothing about oil holds none.
			return math.Inf(1), true, ref
		}
		return 0, false, ref
	})
}

func (w *World) particles() *carried { return w.feed.particles.get(w.carryParticles) }

func (w *World) carryParticles() *carried {
	var sources []carrySource
	dusty := func(port int32) {
		sources = append(sources, carrySource{port, math.Inf(1), math.Inf(1)})
	}
	// Sieve beds and desiccant shed dust as the room does.
	for _, k := range [...]plant.Kind{plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator, plant.KindGasDryer} {
		for _, c := range w.OfKind(k) {
			dusty(w.Plant.PortByTrait(c, 1))
		}
	}
	for _, c := range w.OfKind(plant.KindGasSupply) {
		dusty(w.Plant.Components[c].FirstPort)
	}
	for _, port := range w.gasEdges() {
		dusty(port)
	}
	return w.carry(sources, map[int32][]Ref{}, func(filter int32) (float64, bool, Ref) {
		ref := specRef(filter, "pore_size")
		n := w.number(w.data(filter).GetGasFilter().PoreSizeM, ref)
		return n.High, !n.Unknown(), ref
	})
}

// filterReach tells from where gas comes to a generator without passing a filter of a grade. In each pair sure avoids only
// filters that are stated to be of the grade, hoped also those whose grade is not stated.
type filterReach struct {
	any                *flowpath.Reach
	coalescing, carbon gradeReach
	toConcentrator     gradeReach // forward, from machines and edges to the inlets of concentrators
	airTo              *flowpath.Reach
}

type gradeReach struct{ sure, hoped *flowpath.Reach }

func (w *World) filterReach() *filterReach { return w.feed.filters.get(w.reachFilters) }

func (w *World) reachFilters() *filterReach {
	// without goes past no filter of a grade; none stands for no grade. A filter that states no grade may be of any.
	const none = skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_UNSPECIFIED
	without := func(through bool, grade skidrulev1.GasFilterGrade) func(way int32, forward bool) Verdict {
		return func(way int32, forward bool) Verdict {
			if !forward || !w.feedPasses(way) {
				return False
			}
			switch w.kindOfWay(way) {
			case plant.KindOxygenConcentrator:
				if !through {
					return False
				}
			case plant.KindGasFilter:
				if grade == none {
					return True
				}
				switch w.data(w.Plant.Ways[way].Component).GetGasFilter().GetGrade() {
				case grade:
					return False
				case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_UNSPECIFIED:
					return Undecided
				}
			}
			return True
		}
	}
	var cells, air []int32
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		cells = append(cells, w.Plant.PortByTrait(g, 0))
	}
	for _, k := range airMachines {
		for _, c := range w.OfKind(k) {
			air = append(air, w.Plant.PortByTrait(c, 1))
		}
	}
	air = append(air, w.gasEdges()...)
	back := func(grade skidrulev1.GasFilterGrade) (x gradeReach) {
		x.sure, x.hoped = w.spreadBoth(flowpath.Backward, cells, without(true, grade))
		return x
	}
	ahead := func(grade skidrulev1.GasFilterGrade) (x gradeReach) {
		x.sure, x.hoped = w.spreadBoth(flowpath.Forward, air, without(false, grade))
		return x
	}
	const coalescing, carbon = skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_COALESCING, skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_ACTIVATED_CARBON
	return &filterReach{any: back(none).sure, coalescing: back(coalescing), carbon: back(carbon), toConcentrator: ahead(coalescing), airTo: ahead(none).sure}
}

// filtered tells whether every way of a compressor's gas to a generator passes a filter of the grade.
func (w *World) filtered(compressor int32, x *gradeReach) Truth {
	return w.passesGrade(w.Plant.PortByTrait(compressor, 1), x)
}

func (w *World) passesGrade(port int32, x *gradeReach) Truth {
	if !x.sure.Reached(port) {
		return Truth{Value: True}
	}
	if x.hoped.Reached(port) {
		return Truth{}
	}
	var refs []Ref
	arcs, _ := x.sure.Path(port)
	for _, arc := range arcs {
		if c := w.Plant.Ways[arc/2].Component; c >= 0 && w.Plant.Components[c].Kind == plant.KindGasFilter && w.data(c).GetGasFilter().GetGrade() == 0 {
			refs = joinRefs(refs, []Ref{specRef(c, "grade")})
		}
	}
	return Open(refs...)
}

func (w *World) unfilteredPath(compressor int32) Path {
	x, port := w.filterReach(), w.Plant.PortByTrait(compressor, 1)
	for _, r := range [...]*flowpath.Reach{x.coalescing.sure, x.carbon.sure} {
		if path := w.reachedPath(r, port); path != nil {
			return path
		}
	}
	return nil
}

// feedAirFiltered tells whether every way of feed air to a concentrator passes a coalescing filter.
func (w *World) feedAirFiltered(concentrator int32) Truth {
	x, port := w.filterReach(), w.Plant.PortByTrait(concentrator, 0)
	if !x.airTo.Reached(port) {
		return Open(elementRef(concentrator))
	}
	return w.passesGrade(port, &x.toConcentrator)
}
