package operate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// FaultKind says what a fault does to an element.
type FaultKind uint8

// The kinds of fault. Each changes what goes into the solver, never what comes out of it.
const (
	// Restricted leaves a valve, check valve, strainer, filter or meter the share Size of its flow coefficient: 0 is shut, 1 is as
	// designed, more than 1 a throttled valve that stands further open, at most fully. A loss coefficient grows with the inverse square of it.
	Restricted FaultKind = iota + 1
	// Opened lets a valve that should be shut pass with the share Size of its flow coefficient, above 0 and up to 1.
	Opened
	// Narrowed leaves a pipe the share Size of its cross-section at one place, above 0 and up to 1; the loss is that of the sudden
	// widening behind it, (1/Size - 1)² on the velocity in the full bore. Source: Borda and Carnot, ρ (v1 - v2)²/2.
	Narrowed
	// Leaking opens a gas port to the atmosphere by a sharp hole of the diameter Size in m; its coefficient of discharge is 0.6,
	// common practice, no source.
	Leaking
	// Fouled leaves the throat of an injector the share Size of its cross-section, above 0 and up to 1: at the same pressures the
	// motive flow and the gas drawn go with it. Common practice, no source.
	Fouled
	// Worn leaves a pump, blower, compressor or concentrator the share Size of its pressure rise at every flow, above 0 and up to
	// 1. Common practice, no source.
	Worn
	// Shifted adds Size in Pa to the pressure of a boundary or a gas supply.
	Shifted
)

// Fault is one thing that is not as designed.
type Fault struct {
	Kind      FaultKind
	Component int32   // all but Narrowed and Leaking
	Way       int32   // Narrowed: a pipe
	Port      int32   // Leaking: a gas port
	Size      float64 // as the kind says, in SI units
}

// leakCoefficient is the coefficient of discharge of a leak.
const leakCoefficient = 0.6

// faultMark is the datum that everything solved with a fault rests on.
var faultMark = Datum{DatumModel, -1, "fault"}

// Faulted solves a case at its best values with a fault of each size in turn; each solution starts from the one before, so that
// sizes in order are solved fastest. Where nothing that is computed rests on the faulted element the result is empty; it ends before a
// size that would bring a pressure below vacuum. Errors: those of the context, a size outside the range of its kind, and a case that stands for several scenarios.
func (s *Solver) Faulted(ctx context.Context, at int, f Fault, sizes []float64) ([]*State, error) {
	sc, err := s.single(at)
	if err != nil {
		return nil, err
	}
	if err := s.prepare(ctx); err != nil {
		return nil, err
	}
	var out []*State
	var base *solved
	for _, size := range sizes {
		f.Size = size
		if err := f.check(); err != nil {
			return nil, err
		}
		one := sc
		one.fault = &f
		w := wire(&s.m, &one, variant{datum: faultMark})
		if !w.spoilt {
			return out, nil
		}
		if size == 0 {
			base = nil // what is shut falls into other parts than what stands open
		}
		v, err := w.solve(ctx, base)
		if err != nil {
			return nil, err
		}
		st := s.gather(&one, &hydraulics{best: v})
		st.Solves = 1
		out = append(out, st)
		if base = v; size == 0 {
			base = nil
		}
	}
	return out, nil
}

// check refuses a size outside the range of a kind.
func (f *Fault) check() error {
	low, high, open := 0.0, 1.0, true
	switch f.Kind {
	case Restricted:
		high, open = math.Inf(1), false
	case Shifted:
		low, high = math.Inf(-1), math.Inf(1)
	case Opened, Narrowed, Leaking, Fouled, Worn:
	default:
		return fmt.Errorf("there is no fault of kind %d", f.Kind)
	}
	if math.IsNaN(f.Size) || math.IsInf(f.Size, 0) || f.Size < low || f.Size > high || open && f.Size == low {
		return fmt.Errorf("a fault of kind %d and size %g: the size must lie between %g and %g", f.Kind, f.Size, low, high)
	}
	return nil
}

// spoil puts a fault into the wiring.
func (w *wiring) spoil(f *Fault) {
	mark := []Datum{faultMark}
	switch f.Kind {
	case Leaking:
		k := w.knotOf[f.Port]
		if w.knots[k].phase != network.Gas {
			return
		}
		outside := w.extra(-1)
		w.fix(outside, 0)
		w.links = append(w.links, link{from: k, to: outside, fluid: fluidAir, law: network.Orifice{Diameter: f.Size, Coefficient: leakCoefficient},
			component: -1, suction: -1, way: -1, used: mark})
		w.spoilt = true
		return
	case Shifted:
		n := &w.knots[w.knotOf[w.p.Components[f.Component].FirstPort]]
		if n.fixed {
			n.pressure, n.used = n.pressure+f.Size, joinData(n.used, mark)
			w.spoilt = n.pressure > 0
		}
		return
	}
	for i := range w.links {
		l := &w.links[i]
		if law := w.spoiltLaw(l, f); law != nil {
			l.law, l.used, l.missing = law, joinData(l.used, mark), joinData(l.missing, w.take())
			w.spoilt = true
		}
	}
}

// spoiltLaw is the law of a link with a fault, which may open or shut the link; nil where the fault does not touch it.
func (w *wiring) spoiltLaw(l *link, f *Fault) network.Law {
	if f.Kind == Narrowed {
		if law, ok := l.law.(network.Pipe); ok && l.way == f.Way && l.component < 0 {
			law.K += (1/f.Size - 1) * (1/f.Size - 1)
			return law
		}
		return nil
	}
	if l.component != f.Component || l.vessel || l.blocked != (f.Kind == Opened) {
		return nil
	}
	switch f.Kind {
	case Opened:
		l.blocked = false
		return network.Valve{Kv: math.Max(w.openCoefficient(f.Component)*f.Size, 1e-9), PressureRatioFactor: valveRatio}
	case Restricted:
		if f.Size == 0 {
			l.blocked = true
			return placeholder
		}
		law := restricted(l.law, f.Size)
		if valve, ok := law.(network.Valve); ok && f.Size > 1 {
			// It cannot stand further open than open.
			valve.Kv = math.Min(valve.Kv, w.openCoefficient(f.Component))
			return valve
		}
		return law
	case Fouled:
		if law, ok := l.law.(network.Injector); ok && l.suction >= 0 && law.Motive != nil {
			share, motive, suction := f.Size, law.Motive, law.Suction
			law.Motive = func(pIn, pOut, pSuction float64) float64 { return share * motive(pIn, pOut, pSuction) }
			law.Suction = func(pIn, pOut, pSuction float64) float64 { return share * suction(pIn, pOut, pSuction) }
			return law
		}
	case Worn:
		switch law := l.law.(type) {
		case network.Pump:
			law.Curve = worn(law.Curve, f.Size)
			return law
		case network.Blower:
			law.Curve = worn(law.Curve, f.Size)
			return law
		}
	}
	return nil
}

// openCoefficient is the flow coefficient of a valve that can be shut.
func (w *wiring) openCoefficient(at int32) float64 {
	var kv *float64
	switch c := &w.p.Components[at]; c.Kind {
	case plant.KindHandValve:
		kv = c.Data.GetHandValve().FlowCoefficientKvM3PerH
	case plant.KindActuatedValve:
		kv = c.Data.GetActuatedValve().FlowCoefficientKvM3PerH
	}
	return w.number(kv, ref(at, "flow_coefficient"))
}

// restricted is a law with a share of its flow coefficient; nil for one that has none.
func restricted(law network.Law, share float64) network.Law {
	switch l := law.(type) {
	case network.Valve:
		l.Kv *= share
		return l
	case network.CheckValve:
		l.Kv *= share
		return l
	case network.Regulator:
		l.Kv *= share
		return l
	case network.BackPressure:
		l.Kv *= share
		return l
	case network.FlowControl:
		l.Kv *= share
		return l
	case network.Fitting:
		l.K /= share * share
		return l
	case network.Orifice:
		l.Diameter *= math.Sqrt(share)
		return l
	}
	return nil
}

// worn is a curve with a share of its rise.
func worn(c network.Curve, share float64) network.Curve {
	c.Points = slices.Clone(c.Points)
	for i := range c.Points {
		c.Points[i].Rise *= share
	}
	return c
}
