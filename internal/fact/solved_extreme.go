package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// solvedExtremes is the highest and the lowest gauge pressure of each port over the solved cases in which no barrier has failed, as
// far as a case settles it.
//
// They are witnesses that stand beside the bounds: what a case finds comes about. They prove no bound by themselves, for a case opens,
// shuts and feeds one thing at a time, and what nobody lists as a case is not among them; and they move no bound, for a datum that is
// deleted would then take a finding away with the case that needs it.
type solvedExtremes struct {
	high, low         []float64 // Pa; -Inf and +Inf where no case settles it
	highCase, lowCase []int32
	surest, shallow   []float64 // what the highest is at least and the lowest at most, at the other end of what is uncertain
	// open lists data for want of which a case that can occur is not known there.
	open [][]Ref
}

// extremes gives the pressures over the solved cases; nil where no case is solved.
func (w *World) extremes() *solvedExtremes {
	if !w.solves() {
		return nil
	}
	return w.solvedAll.get(w.findExtremes)
}

func (w *World) findExtremes() *solvedExtremes {
	n := len(w.Plant.Ports)
	x := &solvedExtremes{high: make([]float64, n), low: make([]float64, n), highCase: make([]int32, n), lowCase: make([]int32, n),
		surest: make([]float64, n), shallow: make([]float64, n), open: make([][]Ref, n)}
	for i := range n {
		x.high[i], x.low[i], x.highCase[i], x.lowCase[i] = math.Inf(-1), math.Inf(1), -1, -1
		x.surest[i], x.shallow[i] = math.Inf(-1), math.Inf(1)
	}
	vented := map[int32]int32{} // of vessels and tanks, the port of the gas space and one
	for i := range w.Plant.Components {
		if k := w.Plant.Components[i].Kind; isGasVessel(k) {
			vented[int32(i)] = w.gasSpace(int32(i)) + 1
		}
	}
	for at := range w.Cases {
		st := w.solvedCase(int32(at))
		if st == nil || w.Cases[at].Standard == operate.BarrierFailed {
			continue
		}
		settled := w.settled(st)
		for i := range n {
			q := &st.Ports[i]
			if !q.Known || len(q.Beyond) > 0 {
				x.open[i] = joinRefs(x.open[i], datumRefs(q.Missing))
				continue
			}
			if q.ShutIn || !settled[i] || q.Pressure.High >= endOfSolving {
				continue
			}
			high, low := q.Pressure.High-st.Atmosphere, q.Pressure.Low-st.Atmosphere
			if gas := vented[w.Plant.Ports[i].Component]; gas > 0 && st.Ports[gas-1].Known && st.Ports[gas-1].Pressure.High < endOfSolving {
				// A port above the water of a vessel has the pressure of the gas.
				low, high = max(low, st.Ports[gas-1].Pressure.Low-st.Atmosphere), max(high, st.Ports[gas-1].Pressure.High-st.Atmosphere)
			}
			if high > x.high[i] {
				x.high[i], x.highCase[i] = high, int32(at)
			}
			if low < x.low[i] {
				x.low[i], x.lowCase[i] = low, int32(at)
			}
			x.surest[i], x.shallow[i] = max(x.surest[i], low), min(x.shallow[i], high)
		}
	}
	return x
}

// settled tells of each port whether an open way joins it with a place that has a pressure of its own. What stands between closed
// valves has the pressure that stood there before they closed, whatever a steady state shows; and a drain does not stand full.
func (w *World) settled(st *operate.State) []bool {
	p := w.Plant
	sets := flowpath.NewSets(len(p.Ports))
	var ground []int32
	for i := range p.Ways {
		q, f := &p.Ways[i], &st.Ways[i]
		if q.IsPipe() {
			sets.Join(q.From, q.To)
			continue
		}
		kind := p.Components[q.Component].Kind
		open := f.Known && f.State == network.Open
		switch {
		case kind == plant.KindCompressor || kind == plant.KindOxygenConcentrator:
			if open {
				ground = append(ground, q.To)
			}
		case kind == plant.KindVenturiInjector:
			if first := p.Components[q.Component].FirstPort; q.From == first && q.To == first+2 && f.Known && f.Flow.Best > 0 {
				sets.Join(q.From, q.To)
				ground = append(ground, first+1)
			}
		case f.Known && f.State == network.Controlling && f.Flow.Best > 0:
			switch kind {
			case plant.KindPressureRegulator:
				ground = append(ground, q.To)
			case plant.KindBackPressureValve, plant.KindReliefValve:
				ground = append(ground, q.From)
			}
		case open && oneWay(kind) && f.Flow.Best <= 0:
			// At rest it is as good as shut, whatever state the solver left it in.
		case open, !f.Known && len(f.Missing) == 0 && st.Ports[q.From].Phase == st.Ports[q.To].Phase, isGasVessel(kind):
			sets.Join(q.From, q.To)
		}
	}
	for i := range p.Components {
		c := &p.Components[i]
		switch c.Kind {
		case plant.KindTee, plant.KindHeader, plant.KindJunction, plant.KindUnion:
			for k := int32(1); k < c.NumPorts; k++ {
				sets.Join(c.FirstPort, c.FirstPort+k)
			}
		case plant.KindBoundary, plant.KindAtmosphereVent, plant.KindGasSupply, plant.KindOpenTank:
			for k := range c.NumPorts {
				if port := c.FirstPort + k; st.Ports[port].Known {
					ground = append(ground, port)
				}
			}
		}
	}
	held := make([]bool, len(sets))
	for _, port := range ground {
		held[sets.Root(port)] = true
	}
	out := make([]bool, len(sets))
	for i := range out {
		out[i] = held[sets.Root(int32(i))]
	}
	return out
}

// solvedHighest is the highest pressure of several ports over the solved cases, and the case in which it comes about; -1 where no case
// settles any.
func (w *World) solvedHighest(ports []int32) (n Number, at int32) {
	return w.solvedOver(ports, func(x *solvedExtremes, port int32) (float64, float64, int32) {
		return x.high[port], x.surest[port], x.highCase[port]
	}, 1)
}

// solvedLowest is the lowest one.
func (w *World) solvedLowest(ports []int32) (n Number, at int32) {
	return w.solvedOver(ports, func(x *solvedExtremes, port int32) (float64, float64, int32) {
		return x.low[port], x.shallow[port], x.lowCase[port]
	}, -1)
}

func (w *World) solvedOver(ports []int32, read func(x *solvedExtremes, port int32) (far, near float64, at int32), sign float64) (n Number, at int32) {
	x := w.extremes()
	at = -1
	if x == nil {
		return Missing(), -1
	}
	var open []Ref
	far, near := math.Inf(-1), math.Inf(-1)
	for _, port := range ports {
		open = joinRefs(open, x.open[port])
		f, s, set := read(x, port)
		if set < 0 {
			continue
		}
		if sign*f > far {
			far, at = sign*f, set
		}
		near = max(near, sign*s)
	}
	if at < 0 {
		return Missing(open...), -1
	}
	return between(min(sign*far, sign*near), max(sign*far, sign*near)), at
}

// caseText names a solved case, or says why there is none.
func (w *World) caseText(at int32) Text {
	switch reason := w.Unsolved(); {
	case at >= 0:
		return Text{Value: w.Cases[at].ID}
	case reason != "":
		return Text{Value: "none: " + reason}
	}
	return Text{Value: "none settles it"}
}

// oneWay tells what opens by the pressure before it.
func oneWay(k plant.Kind) bool {
	switch k {
	case plant.KindCheckValve, plant.KindPressureRegulator, plant.KindBackPressureValve, plant.KindReliefValve, plant.KindFloatVentValve:
		return true
	}
	return false
}
