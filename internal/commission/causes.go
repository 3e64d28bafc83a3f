package commission

import (
	"math"
	"strings"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// candidate is one thing that may be at fault, with the sizes that are tried.
type candidate struct {
	id, subject, title string
	fault              operate.Fault
	none               float64   // size that is no fault
	sizes              []float64 // from small to large faults
	words              func(size float64) string
}

// Sizes that are tried, from hardly any fault to as large a one as makes sense; between them the fit goes on. Common practice, no
// source.
var (
	shares     = []float64{0.97, 0.94, 0.9, 0.85, 0.8, 0.7, 0.6, 0.5, 0.4}
	openings   = []float64{0.7, 0.5, 0.35, 0.25, 0.18, 0.12, 0.08, 0.05, 0.03, 0.015, 0.006, 0.002, 0}
	tooFar     = []float64{1.1, 1.25, 1.5, 2, 3, 5, 8}
	leftOpen   = []float64{0.01, 0.03, 0.1, 0.3, 1}
	bores      = []float64{0.6, 0.4, 0.3, 0.22, 0.16, 0.12, 0.09, 0.06, 0.04}
	holes      = []float64{0.1e-3, 0.2e-3, 0.3e-3, 0.45e-3, 0.65e-3, 0.9e-3, 1.2e-3, 1.7e-3, 2.4e-3}
	reductions = []float64{0.05, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6, 0.8, 1}
)

func percent(x float64) string { return number(math.Round(1000*x)/10) + " %" }

func openWords(size float64) string {
	if size == 0 {
		return "shut"
	}
	return percent(size) + " of its flow coefficient left"
}

func difference(pa float64) string {
	return quantity.Format(math.Abs(pa), quantity.PressureDifference, quantity.Metric)
}

// findCauses lists what may be at fault, in order of components and then of lines. Only what stands in the way of flow in the case,
// or stands shut there, can be: the rest touches no reading.
func (s *Skid) findCauses(st *operate.State) []candidate {
	p := s.plant
	var out []candidate
	for i := range p.Components {
		out = append(out, s.componentCauses(int32(i), st)...)
	}
	// The gas pipes by which injectors are reached, against the flow, and the water pipes behind them.
	suction, returns := s.reach(1, false, network.Gas), s.reach(2, true, network.Liquid)
	for i := range p.Lines {
		out = append(out, s.lineCauses(int32(i), st, suction, returns)...)
	}
	return out
}

// flows tells whether anything passes a component in a state.
func (s *Skid) flows(c int32, st *operate.State) bool {
	comp := &s.plant.Components[c]
	for k := comp.FirstPort; k < comp.FirstPort+comp.NumPorts; k++ {
		for _, id := range s.plant.WaysAt(k) {
			if w := &s.plant.Ways[id]; !w.IsPipe() && st.Ways[id].Known && st.Ways[id].Flow.Best != 0 {
				return true
			}
		}
	}
	return false
}

func (s *Skid) componentCauses(c int32, st *operate.State) []candidate {
	comp := &s.plant.Components[c]
	path := "components." + comp.Tag
	flows := s.flows(c, st)
	restricted := func(id, title string, sizes []float64) candidate {
		return candidate{id: id, subject: path, title: title, fault: operate.Fault{Kind: operate.Restricted, Component: c}, none: 1, sizes: sizes, words: openWords}
	}
	worn := func(id, title string) candidate {
		return candidate{id: id, subject: path, title: title, fault: operate.Fault{Kind: operate.Worn, Component: c}, none: 1, sizes: shares,
			words: func(size float64) string { return percent(size) + " of its pressure rise left" }}
	}
	shifted := func(id, title, word string, most float64) candidate {
		one := candidate{id: id, subject: path, title: title, fault: operate.Fault{Kind: operate.Shifted, Component: c}}
		for _, r := range reductions {
			one.sizes = append(one.sizes, r*most)
		}
		one.words = func(size float64) string { return difference(size) + " " + word }
		return one
	}
	switch comp.Kind {
	case plant.KindVenturiInjector:
		if flows {
			return []candidate{{id: "fouled_throat", subject: path, title: comp.Tag + ": throat fouled", fault: operate.Fault{Kind: operate.Fouled, Component: c}, none: 1, sizes: shares,
				words: func(size float64) string { return percent(size) + " of its cross-section left" }}}
		}
	case plant.KindPump:
		if flows {
			return []candidate{worn("worn_pump", comp.Tag+": pump worn, or turning slower")}
		}
	case plant.KindOxygenConcentrator, plant.KindCompressor, plant.KindBlower:
		if s.delivers(c, st) {
			return []candidate{worn("weak_gas_supply", comp.Tag+": gives less pressure than its curve")}
		}
	case plant.KindGasSupply:
		d := comp.Data.GetGasSupply()
		if high := d.PressurePaGauge; high != nil && *high > 0 {
			// What is solved lies in the middle between full and nearly empty.
			best := *high
			if low := d.MinPressurePaGauge; low != nil && *low < best {
				best = (best + *low) / 2
			}
			return []candidate{shifted("weak_gas_supply", comp.Tag+": pressure low", "low", -best)}
		}
	case plant.KindBoundary:
		return s.boundaryCauses(c, shifted)
	case plant.KindHandValve, plant.KindActuatedValve, plant.KindThreeWayValve:
		if !flows {
			if comp.Kind == plant.KindThreeWayValve || !s.standsShut(c, st) {
				return nil
			}
			return []candidate{{id: "valve_open", subject: path, title: comp.Tag + ": stands open, or leaks through", fault: operate.Fault{Kind: operate.Opened, Component: c}, sizes: leftOpen,
				words: func(size float64) string { return percent(size) + " of its flow coefficient" }}}
		}
		out := []candidate{restricted("valve_closed", comp.Tag+": valve partly closed or stuck", openings)}
		if comp.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED {
			out[0].title = comp.Tag + ": valve set too far closed, or stuck"
			far := restricted("valve_too_far_open", comp.Tag+": valve set too far open", tooFar)
			far.words = func(size float64) string {
				return number(size) + " times the flow coefficient that it should be set to"
			}
			out = append(out, far)
		}
		return out
	case plant.KindCheckValve:
		if flows {
			return []candidate{restricted("check_valve_stuck", comp.Tag+": check valve stuck shut or nearly so", openings)}
		}
	case plant.KindStrainer, plant.KindLiquidFilter, plant.KindGasFilter:
		if flows {
			return []candidate{restricted("choked_strainer", comp.Tag+": choked", openings)}
		}
	}
	return nil
}

// delivers tells whether a machine brings gas into the drawing in a state.
func (s *Skid) delivers(c int32, st *operate.State) bool {
	for i := range st.Exchanges {
		if e := &st.Exchanges[i]; e.Component == c && e.Flow.Best != 0 {
			return true
		}
	}
	return s.flows(c, st)
}

// standsShut tells whether a valve holds flow back in a state.
func (s *Skid) standsShut(c int32, st *operate.State) bool {
	first := s.plant.Components[c].FirstPort
	id := s.passage(first, first+1)
	return id >= 0 && st.Ways[id].Known && st.Ways[id].State == network.Shut
}

func (s *Skid) boundaryCauses(c int32, shifted func(id, title, word string, most float64) candidate) []candidate {
	comp := &s.plant.Components[c]
	b := comp.Data.GetBoundary()
	p := b.PressurePaGauge
	if p == nil || s.phaseAt(comp.FirstPort) != network.Liquid {
		return nil
	}
	switch {
	case isSource(comp) && *p > 0:
		return []candidate{shifted("low_supply_pressure", comp.Tag+": supply pressure low", "low", -*p)}
	case isSink(comp) && b.MaxPressurePaGauge != nil && *b.MaxPressurePaGauge > *p:
		return []candidate{shifted("high_return_pressure", comp.Tag+": pressure behind the skid high", "high", *b.MaxPressurePaGauge-*p)}
	}
	return nil
}

// reach gathers the pipes of a phase that lead on from a port of the injectors, along the flow or against it.
func (s *Skid) reach(side int32, along bool, phase network.Phase) map[int32]bool {
	p := s.plant
	out, seen := map[int32]bool{}, map[int32]bool{}
	var stack []int32
	for i := range p.Components {
		if p.Components[i].Kind == plant.KindVenturiInjector {
			stack = append(stack, p.Components[i].FirstPort+side)
		}
	}
	for len(stack) > 0 {
		port := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[port] || s.phaseAt(port) != phase {
			continue
		}
		seen[port] = true
		for _, id := range p.WaysAt(port) {
			w := &p.Ways[id]
			from, to := w.From, w.To
			if !along {
				from, to = to, from
			}
			if from != port {
				continue
			}
			if w.IsPipe() {
				out[id] = true
			}
			stack = append(stack, to)
		}
	}
	return out
}

// lineCauses lists the leaks and narrow places of a line: one for each piece of it between branches and meters, since what lies
// within a piece shows the same.
func (s *Skid) lineCauses(at int32, st *operate.State, suction, returns map[int32]bool) []candidate {
	p := s.plant
	l := &p.Lines[at]
	var out []candidate
	from := l.FirstWay
	end := l.FirstWay + l.NumWays
	for k := from; k < end; k++ {
		if k+1 < end && !s.parts(p.Ways[k].To) {
			continue
		}
		// The piece goes from way `from` to way k.
		first, last := &p.Ways[from], &p.Ways[k]
		between := p.Components[p.Ports[first.From].Component].Tag + " and " + p.Components[p.Ports[last.To].Component].Tag
		flows := st.Ways[k].Known && st.Ways[k].Flow.Best != 0
		switch {
		case suction[k] && st.Ports[last.To].Known:
			out = append(out, s.leak(l, last.To, between, st))
		case returns[k] && flows:
			out = append(out, candidate{id: "blocked_return", subject: "lines." + l.Tag, title: l.Tag + ": blocked or partly closed between " + between,
				fault: operate.Fault{Kind: operate.Narrowed, Way: from}, none: 1, sizes: bores, words: func(size float64) string { return percent(size) + " of its bore open" }})
		}
		from = k + 1
	}
	return out
}

// parts tells whether the pieces of a line before and behind a stop differ in what a reading shows of them.
func (s *Skid) parts(port int32) bool {
	c := &s.plant.Components[s.plant.Ports[port].Component]
	switch c.Kind {
	case plant.KindTee, plant.KindHeader, plant.KindFlowMeter, plant.KindJunction, plant.KindOzoneGenerator, plant.KindPressureGauge:
		return true
	case plant.KindHandValve:
		return c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED
	}
	return false
}

func (s *Skid) leak(l *plant.Line, port int32, between string, st *operate.State) candidate {
	way := "gas leaks out"
	if q := &st.Ports[port]; q.Known && q.Pressure.Best < st.Atmosphere {
		way = "air leaks in"
	}
	sizes := holes
	if bore := l.Data.InnerDiameterM; bore != nil {
		for len(sizes) > 1 && sizes[len(sizes)-1] > *bore {
			sizes = sizes[:len(sizes)-1]
		}
	}
	return candidate{id: strings.ReplaceAll(way, " ", "_"), subject: "lines." + l.Tag, title: l.Tag + ": " + way + " between " + between,
		fault: operate.Fault{Kind: operate.Leaking, Port: port}, sizes: sizes,
		words: func(size float64) string {
			return "as by a hole of " + quantity.Format(size, quantity.Length, quantity.Metric)
		}}
}
