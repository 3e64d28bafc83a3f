package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// Span is a computed quantity in the SI unit of its dimension: its best value and the ends between which it lies.
type Span struct{ Low, Best, High float64 }

func (s *Span) hull(o Span) { s.Low, s.High = math.Min(s.Low, o.Low), math.Max(s.High, o.High) }

// PortState is what is computed of a port in a case.
type PortState struct {
	Phase network.Phase // 0 where the drawing does not tell
	// Known tells whether Pressure holds. Where it does not, Missing names the data that is missing, or Why says the reason.
	Known    bool
	Pressure Span    // Pa absolute
	Missing  []Datum // data whose absence leaves the pressure unknown
	Why      string
	Assumed  []Datum // assumed data that the result rests on
	Beyond   []Datum // data that ends before the solved state does: curves and tables
	// ShutIn: everything around stands closed. The pressure is then what small equal leaks would give.
	ShutIn bool
	// Temperature in K; Low above High where it is not known.
	Temperature Span
	// Gas is the composition of gas as if no ozone dissolved; GasKnown tells whether it holds.
	Gas      fluid.Gas
	GasKnown bool
}

// WayState is what is computed of a way: a pipe or a passage inside a component.
type WayState struct {
	Known bool
	// Flow from From to To: m3/s of water, mol/s of gas.
	Flow Span
	// Carried is gas that goes along with the water, mol/s.
	Carried Span
	// Velocity in m/s in pipes: of gas at the end with the lower pressure.
	Velocity Span
	Missing  []Datum
	Why      string
	Assumed  []Datum
	// Beyond says in what respect the state lies outside what the part's curve or table covers; empty where it does not.
	Beyond string
	State  network.State
	// NPSH is the net positive suction head available at a pump, m.
	NPSH Span
}

// Exchange is what a boundary, vent or machine brings into the drawing; negative takes out.
type Exchange struct {
	Component int32
	Phase     network.Phase
	Flow      Span // m3/s of water, mol/s of gas
}

// State is a solved operating case.
type State struct {
	Case  *Case
	Ports []PortState
	Ways  []WayState
	// Exchanges of boundaries, vents and drains, in order of components.
	Exchanges []Exchange
	// Imbalance is the largest balance error of a node relative to the largest flow of its phase, Residual the largest distance from
	// an element's law in Pa: the proof that the state was found.
	Imbalance, Residual float64
	// Solves counts the networks that were solved for it.
	Solves     int
	Atmosphere float64 // Pa absolute; 0 where it is not known
	WaterK     float64 // temperature of the water, K
	Density    float64 // of the water, kg/m3
}

// States is the solved cases of a plant, in the order of its cases. A case that cannot occur is nil.
type States struct {
	Plant  *plant.Plant
	Cases  []Case
	States []*State
}

// Pressure gives the gauge pressure of a port in a case in Pa. Where it is not known missing names the data that would make it
// known; the list may be empty for places that are shut in.
func (s *States) Pressure(port int32, at int) (low, high float64, missing []Datum, ok bool) {
	st := s.States[at]
	if st == nil {
		return 0, 0, nil, false
	}
	q := &st.Ports[port]
	if !q.Known || len(q.Beyond) > 0 {
		return 0, 0, joinData(q.Missing, q.Beyond), false
	}
	return q.Pressure.Low - st.Atmosphere, q.Pressure.High - st.Atmosphere, nil, true
}

// Flow gives the flow of a way in a case, from From to To: m3/s of water, mol/s of gas.
func (s *States) Flow(way int32, at int) (low, high float64, missing []Datum, ok bool) {
	st := s.States[at]
	if st == nil {
		return 0, 0, nil, false
	}
	q := &st.Ways[way]
	if !q.Known || q.Beyond != "" {
		return 0, 0, q.Missing, false
	}
	return q.Flow.Low, q.Flow.High, nil, true
}

// Extreme is the highest or lowest value over all cases, with the case that sets it.
type Extreme struct {
	Value float64
	Case  int // -1 where no case knows it
	// Open lists data without which a case that may set it is unknown.
	Open []Datum
	// Beyond lists curves and tables that end before the state of the case that sets it: the value is then their continuation.
	Beyond []Datum
}

// HighestPressure is the highest gauge pressure of a port over all cases, in Pa.
func (s *States) HighestPressure(port int32) Extreme {
	return s.extreme(port, func(st *State, q *PortState) (float64, []Datum, bool) {
		return q.Pressure.High - st.Atmosphere, q.Missing, q.Known
	}, 1)
}

// LowestPressure is the lowest gauge pressure of a port over all cases, in Pa.
func (s *States) LowestPressure(port int32) Extreme {
	return s.extreme(port, func(st *State, q *PortState) (float64, []Datum, bool) {
		return q.Pressure.Low - st.Atmosphere, q.Missing, q.Known
	}, -1)
}

// HighestTemperature is the highest temperature of a port over all cases, in K.
func (s *States) HighestTemperature(port int32) Extreme {
	return s.extreme(port, func(_ *State, q *PortState) (float64, []Datum, bool) {
		return q.Temperature.High, s.temperatureLacks(q), q.Temperature.Low <= q.Temperature.High
	}, 1)
}

// LowestTemperature is the lowest temperature of a port over all cases, in K.
func (s *States) LowestTemperature(port int32) Extreme {
	return s.extreme(port, func(_ *State, q *PortState) (float64, []Datum, bool) {
		return q.Temperature.Low, s.temperatureLacks(q), q.Temperature.Low <= q.Temperature.High
	}, -1)
}

// temperatureLacks names what is not stated of the temperature of a port.
func (s *States) temperatureLacks(q *PortState) []Datum {
	b := s.Plant.Basis
	var out []Datum
	lack := func(x *float64, field string) {
		if x == nil {
			out = joinData(out, []Datum{{DatumBasis, 0, field}})
		}
	}
	switch q.Phase {
	case network.Liquid:
		lack(b.WaterTemperatureK, "water_temperature")
	case network.Gas:
		lack(b.MinAmbientTemperatureK, "min_ambient_temperature")
		lack(b.MaxAmbientTemperatureK, "max_ambient_temperature")
	}
	return out
}

func (s *States) extreme(port int32, read func(*State, *PortState) (value float64, lacks []Datum, ok bool), sign float64) Extreme {
	e := Extreme{Case: -1}
	for i, st := range s.States {
		if st == nil {
			continue
		}
		v, lacks, ok := read(st, &st.Ports[port])
		if !ok {
			e.Open = joinData(e.Open, lacks)
			continue
		}
		if e.Case < 0 || sign*v > sign*e.Value {
			e.Value, e.Case, e.Beyond = v, i, st.Ports[port].Beyond
		}
	}
	return e
}

// Standing is the water in the gas line of an injector in a case in which the gas stands still.
type Standing struct {
	Injector int32
	Case     int
	// GradeLine is the elevation in m up to which the water pressure at the suction port would lift water into a line that is open
	// to the atmosphere above it.
	GradeLine Span
	// Vacuum is the lowest gauge pressure in Pa at the suction port; 0 where there is none.
	Vacuum float64
}

// Standing lists the standing water and the vacuum at every injector, in order of injectors and cases, as far as it is known.
//
// Source: hydrostatics.
func (s *States) Standing() []Standing {
	var out []Standing
	for i := range s.Plant.Components {
		c := &s.Plant.Components[i]
		if c.Kind != plant.KindVenturiInjector {
			continue
		}
		outlet, suction := c.FirstPort+2, c.FirstPort+1
		for at, st := range s.States {
			if st == nil || !st.Ports[outlet].Known || st.Density == 0 {
				continue
			}
			z, ok := Height(s.Plant, outlet)
			if !ok {
				continue
			}
			p := st.Ports[outlet].Pressure
			lift := func(p float64) float64 { return z + (p-st.Atmosphere)/(st.Density*network.Gravity) }
			e := Standing{Injector: int32(i), Case: at, GradeLine: Span{lift(p.Low), lift(p.Best), lift(p.High)}}
			if q := &st.Ports[suction]; q.Known {
				e.Vacuum = math.Min(0, q.Pressure.Low-st.Atmosphere)
			}
			out = append(out, e)
		}
	}
	return out
}

// Height is the elevation of a port in m: its own, else that of its component; false where neither is stated.
func Height(p *plant.Plant, port int32) (float64, bool) {
	q := &p.Ports[port]
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return *q.Stated.ElevationM, true
	}
	if e := p.Components[q.Component].Data.ElevationM; e != nil {
		return *e, true
	}
	return 0, false
}
