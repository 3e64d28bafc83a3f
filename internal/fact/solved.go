package fact

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Up to so many components a check solves the operating cases by itself: in all, and joined to each other by lines. Beyond them rules
// rest on what the drawing states; `skidrule solve` solves plants of any size. The time of solving grows with the number of islands, and
// on each with components, cases and uncertain data; that of a check with components alone.
const (
	mostSolved    = 4000
	largestSolved = 400
)

// solvedMemo holds the solved cases, each solved when somebody first asks for it.
type solvedMemo struct {
	mutex  sync.Mutex // of the solver, which is for one at a time
	solver *operate.Solver
	cases  []onceSolved
	kept   *operate.Kept // nil where nothing is kept
	joined lazy[int]     // number of components that lines join, at most
}

// onceSolved is one case, and whether it was asked for.
type onceSolved struct {
	asked bool
	state *operate.State
	err   error
}

// Keep lets the world take solved cases from kept ones, and keep its own. What the last check did not ask for is forgotten. It comes
// before the first question.
func (w *World) Keep(k *operate.Kept) {
	if w.solves() {
		k.Turn()
		w.solved.kept = k
	}
}

// Unsolved says why facts solve no operating case; empty where they do.
func (w *World) Unsolved() string {
	whole := w.Whole()
	switch n := len(whole.Plant.Components); {
	case w.solves():
		return ""
	case whole.StatedOnly:
		return "rules on stated data alone were asked for"
	case n > mostSolved:
		return fmt.Sprintf("the plant has %d components, and a check solves plants of up to %d", n, mostSolved)
	}
	return fmt.Sprintf("lines join %d components, and a check solves up to %d that are joined", whole.mostJoined(), largestSolved)
}

// solves tells whether facts solve operating cases.
func (w *World) solves() bool {
	whole := w.Whole()
	n := len(whole.Plant.Components)
	return !whole.StatedOnly && n <= mostSolved && (n <= largestSolved || whole.mostJoined() <= largestSolved)
}

// mostJoined is the number of components that lines join, at most.
func (w *World) mostJoined() int {
	return *w.solved.joined.get(func() *int {
		n := w.Plant.MostJoined()
		return &n
	})
}

// solvedCase gives the solved state of a case; nil where facts solve none, or the case cannot occur.
func (w *World) solvedCase(at int32) *operate.State {
	if at < 0 || int(at) >= len(w.Cases) || !w.solves() {
		return nil
	}
	// Only the context can fail.
	st, _ := w.Solve(int(at))
	return st
}

// Solve gives the solved state of a case, whatever the size of the plant; nil for one that cannot occur. It is solved once, whoever
// asks. The error is that of the context that the world watches.
func (w *World) Solve(at int) (*operate.State, error) {
	if w.Cases[at].Excluded != "" {
		return nil, nil
	}
	m := &w.solved
	m.mutex.Lock()
	defer m.mutex.Unlock()
	if m.cases == nil {
		m.cases = make([]onceSolved, len(w.Cases))
	}
	c := &m.cases[at]
	if c.asked {
		return c.state, c.err
	}
	if err := w.until.Err(); err != nil {
		return nil, err
	}
	c.asked = true
	solver, err := w.solver()
	if err != nil {
		c.err = err
		return nil, err
	}
	c.state, c.err = solver.Case(w.until, at)
	return c.state, c.err
}

// States gives the solved states of cases; the others, and those that cannot occur, are nil in them. Errors are those of Solve.
func (w *World) States(cases []int) (*operate.States, error) {
	out := &operate.States{Plant: w.Plant, Cases: w.Cases, States: make([]*operate.State, len(w.Cases))}
	for _, at := range cases {
		var err error
		if out.States[at], err = w.Solve(at); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Solver is the solver of the world's cases, for who asks it more than facts do; not while facts are asked, since it is for one at a
// time. The error says that there are no cases.
func (w *World) Solver() (*operate.Solver, error) {
	w.solved.mutex.Lock()
	defer w.solved.mutex.Unlock()
	return w.solver()
}

// solver makes the solver when it is first asked for.
func (w *World) solver() (*operate.Solver, error) {
	m := &w.solved
	if m.solver == nil {
		solver, err := operate.NewSolver(w.Plant, w.Cases)
		if err != nil {
			return nil, err
		}
		solver.Keep(m.kept)
		m.solver = solver
	}
	return m.solver, nil
}

// bursts solves what float vents pass that stand open before gas of gauge pressures in Pa.
func (w *World) bursts(gauge map[int32]float64) (*operate.Burst, error) {
	w.solved.mutex.Lock()
	defer w.solved.mutex.Unlock()
	solver, err := w.solver()
	if err != nil {
		return nil, err
	}
	return solver.Bursts(w.until, gauge)
}

// datumRef turns a datum of a solved state into one of a fact; false for the spread of a model, which no design states.
func datumRef(d operate.Datum) (Ref, bool) {
	switch d.Kind {
	case operate.DatumComponent:
		return componentRef(d.Index, d.Field), true
	case operate.DatumSpec:
		return specRef(d.Index, d.Field), true
	case operate.DatumLine:
		return lineRef(d.Index, d.Field), true
	case operate.DatumBasis:
		return basisRef(d.Field), true
	case operate.DatumElement:
		return elementRef(d.Index), true
	}
	return Ref{}, false
}

func datumRefs(list []operate.Datum) []Ref {
	var out []Ref
	for _, d := range list {
		if r, ok := datumRef(d); ok {
			out = joinRefs(out, []Ref{r})
		}
	}
	return out
}

// statable keeps the data that a design could state: an element that is named for itself lacks none.
func statable(list []Ref) []Ref {
	return slices.DeleteFunc(list, func(r Ref) bool { return r.Kind == RefElement })
}

// endOfSolving is the pressure in Pa abs above which a solved state is none: where gas has no way out the solver comes to rest at the
// end of its own range, 1e9 Pa, and not where a plant would.
const endOfSolving = 1e8

// solvedPressure is the computed gauge pressure of a port in a case, from its low to its high end; with what is missing where it
// is not known.
func (w *World) solvedPressure(port, at int32) Number {
	st := w.solvedCase(at)
	if st == nil {
		return Missing()
	}
	q := &st.Ports[port]
	if !q.Known || len(q.Beyond) > 0 {
		return Missing(JoinRefs(datumRefs(q.Missing), datumRefs(q.Beyond))...)
	}
	if q.Pressure.High >= endOfSolving {
		return Missing(elementRef(w.Plant.Ports[port].Component))
	}
	return Number{Low: q.Pressure.Low - st.Atmosphere, High: q.Pressure.High - st.Atmosphere, Assumed: datumRefs(q.Assumed)}
}

// gasSpace is the port of a vessel's gas space.
func (w *World) gasSpace(vessel int32) int32 {
	for t, p := range w.Plant.Components[vessel].Kind.Info().Ports {
		if p.Name == "vent" {
			return w.Plant.PortByTrait(vessel, t)
		}
	}
	return -1
}

// computedVesselPressure is the computed pressure of a vessel's gas space in normal operation.
func (w *World) computedVesselPressure(vessel int32) Number {
	n := w.solvedPressure(w.gasSpace(vessel), 0)
	if n.Unknown() && len(n.Missing) == 0 {
		n.Missing = []Ref{elementRef(vessel)}
	}
	return n
}

// solvedOperating is the state of an injector in a case as it is solved; nil where it is not, or where the case lies outside the
// injector's table or the pump's curve. at below 0 stands for normal operation.
func (w *World) solvedOperating(injector, at int32, stated *operatingState) *operatingState {
	st := w.solvedCase(max(at, 0))
	if st == nil || stated == nil {
		return nil
	}
	first := w.Plant.Components[injector].FirstPort
	inlet, outlet := w.solvedPressure(first, max(at, 0)), w.solvedPressure(first+2, max(at, 0))
	if inlet.Unknown() || outlet.Unknown() {
		return nil
	}
	s := &operatingState{inlet: inlet, outlet: outlet, contact: stated.contact, vessel: stated.vessel}
	found := false
	for i := range w.Plant.Ways {
		if q := &w.Plant.Ways[i]; q.From == first && q.To == first+2 {
			f := &st.Ways[i]
			if !f.Known || f.Beyond != "" {
				return nil
			}
			s.motive, found = Number{Low: f.Flow.Low, High: f.Flow.High, Assumed: datumRefs(f.Assumed)}, true
		}
	}
	if !found {
		return nil
	}
	if s.contact >= 0 {
		if port := w.gasSpace(s.contact); port >= 0 {
			if v := w.solvedPressure(port, max(at, 0)); !v.Unknown() {
				s.vessel = v
			}
		}
	}
	s.weak = injectorPoint{inlet.Low, outlet.High, s.motive.Low}
	s.strong = injectorPoint{inlet.High, outlet.Low, s.motive.High}
	s.points = []injectorPoint{s.weak, s.strong, {inlet.Low, outlet.Low, s.motive.Low}, {inlet.High, outlet.High, s.motive.High}}
	return s
}

// gradeLine is the elevation up to which the water at an injector's outlet would lift water into a gas line that stands open to the
// atmosphere, in the case.
//
// Source: hydrostatics.
func (w *World) gradeLine(injector, at int32) Number {
	outlet := w.Plant.PortByTrait(injector, 2)
	p, z := w.solvedPressure(outlet, at), w.portHeight(outlet)
	if p.Unknown() && len(p.Missing) == 0 {
		p.Missing = []Ref{elementRef(injector)}
	}
	if p.Unknown() {
		return p
	}
	st := w.solvedCase(at)
	return z.Add(p.Scale(1 / (st.Density * network.Gravity)))
}

// gasLineCrest is the highest point of the gas ways between an injector and the generators that it draws from; where a line does not
// state its high point it may be no higher than its ends.
func (w *World) gasLineCrest(injector int32) Number {
	x := w.gasNet()
	crest := Number{Low: math.Inf(-1), High: math.Inf(-1)}
	for _, g := range x.injectors.of(injector) {
		lowest := Number{Low: math.Inf(1), High: math.Inf(1)}
		for k, j := range x.of.of(g).injectors {
			if j != injector {
				continue
			}
			way := Number{Low: math.Inf(-1), High: math.Inf(-1)}
			for _, arc := range x.of.of(g).toward[k] {
				if q := &w.Plant.Ways[arc/2]; q.IsPipe() {
					way = way.Max(w.number(w.Plant.Lines[q.Line].Data.HighPointM, lineRef(q.Line, "high_point")))
				}
			}
			lowest = lowest.Min(way)
		}
		if math.IsInf(crest.High, -1) {
			crest = lowest
		} else {
			crest = crest.Min(lowest)
		}
	}
	if math.IsInf(crest.High, -1) {
		return Missing(elementRef(injector))
	}
	return crest
}

// gasLineChecked tells whether a check valve stands on every gas way from an injector to the generators that it draws from.
func (w *World) gasLineChecked(injector int32) Truth {
	x := w.gasNet()
	found := false
	for _, g := range x.injectors.of(injector) {
		for k, j := range x.of.of(g).injectors {
			if j != injector {
				continue
			}
			found = true
			checked := false
			for _, arc := range x.of.of(g).toward[k] {
				if q := &w.Plant.Ways[arc/2]; !q.IsPipe() && w.Plant.Components[q.Component].Kind == plant.KindCheckValve && arc%2 == 0 {
					checked = true
				}
			}
			if !checked {
				return Is(false)
			}
		}
	}
	return Is(found)
}

var solvedFacts = []Definition{
	quantityFact("stated_operating_pressure", quantity.PressureGauge, "Operating pressure of its gas space as stated.",
		func(w *World, at At) Number { return w.statedVesselPressure(at.Index) }, plant.KindContactVessel, plant.KindDegassingVessel),
	quantityFact("computed_pressure_low", quantity.PressureGauge, "Lowest pressure of its gas space in normal operation, as computed from the whole drawing.",
		func(w *World, at At) Number { return atLowest(w.computedVesselPressure(at.Index)) }, plant.KindContactVessel, plant.KindDegassingVessel),
	quantityFact("computed_pressure_high", quantity.PressureGauge, "Highest pressure of its gas space in normal operation, as computed from the whole drawing.",
		func(w *World, at At) Number { return atHighest(w.computedVesselPressure(at.Index)) }, plant.KindContactVessel, plant.KindDegassingVessel),

	quantityFact("grade_line", quantity.Length, "Elevation up to which the water at its outlet would lift water into an open gas line.",
		func(w *World, at At) Number { return atHighest(w.gradeLine(at.Index, at.Case)) }, plant.KindVenturiInjector).byCase(),
	quantityFact("gas_line_crest", quantity.Length, "Highest point of the gas line between it and the generators that it draws from, the lowest such where there are several ways.",
		func(w *World, at At) Number { return w.gasLineCrest(at.Index) }, plant.KindVenturiInjector),
	truthFact("gas_line_checked", "A check valve stands on every gas way between it and a generator.",
		func(w *World, at At) Truth { return w.gasLineChecked(at.Index) }, plant.KindVenturiInjector),
	truthFact("draws_from_generator", "Gas of a generator comes to it.",
		func(w *World, at At) Truth { return Is(len(w.gasNet().injectors.of(at.Index)) > 0) }, plant.KindVenturiInjector),
}
