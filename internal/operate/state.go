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
