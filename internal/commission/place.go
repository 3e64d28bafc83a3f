package commission

import (
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// place is where a pressure or a flow can be read.
type place struct {
	label      string
	component  int32
	dimension  quantity.Dimension
	port       int32 // of a pressure
	way        int32 // of a flow; -1 for a pressure
	instrument bool  // an instrument of the design shows it
	shows      string
	// Range of the instrument, in SI; nil where it is not stated, and then the path of what is missing.
	rangeLow, rangeHigh *float64
	rangeMissing        []string
}

// found is what a solved state gives at a place.
type found struct {
	span    operate.Span // Pa gauge, m3/s or mol/s
	known   bool
	why     string
	missing []operate.Datum
	assumed []operate.Datum
	beyond  []operate.Datum
	note    string // of a flow beyond a table, or a place that is shut in
}

// at reads a place in a solved state.
func (q *place) at(st *operate.State) found {
	if q.way < 0 {
		p := &st.Ports[q.port]
		f := found{known: p.Known, why: p.Why, missing: p.Missing, assumed: p.Assumed, beyond: p.Beyond}
		f.span = operate.Span{Low: p.Pressure.Low - st.Atmosphere, Best: p.Pressure.Best - st.Atmosphere, High: p.Pressure.High - st.Atmosphere}
		if p.ShutIn {
			f.note = "shut in: what small equal leaks would give"
		}
		return f
	}
	w := &st.Ways[q.way]
	return found{span: w.Flow, known: w.Known, why: w.Why, missing: w.Missing, assumed: w.Assumed, note: w.Beyond}
}

// exact reads a place for a fit: its best value, NaN where it is not known.
func (q *place) exact(st *operate.State) float64 {
	if f := q.at(st); f.known {
		return f.span.Best
	}
	return math.NaN()
}

// injectorSides names the three ports of an injector, in their order.
var injectorSides = [3]string{"motive inlet", "suction", "outlet"}

// passing tells what keeps the pressure within the reading of a gauge.
func passing(c *plant.Component) bool {
	switch c.Kind {
	case plant.KindTee, plant.KindHeader, plant.KindJunction, plant.KindUnion, plant.KindAdapter:
		return true
	}
	return false
}

// nearby lists the components that see the pressure of a port: joined to it by lines and fittings that lose next to nothing. It goes
// against the stream of a state from an inlet and with it from an outlet, so that the branch of another injector does not count, and
// into legs in which nothing runs.
func nearby(p *plant.Plant, start int32, against bool, st *operate.State) []int32 {
	const most = 512
	queue, seen := []int32{start}, map[int32]bool{start: true}
	var out []int32
	for k := 0; k < len(queue) && k < most; k++ {
		port := queue[k]
		if c := p.Ports[port].Component; port != start && !slices.Contains(out, c) {
			out = append(out, c)
		}
		for _, id := range p.WaysAt(port) {
			w := &p.Ways[id]
			if !w.IsPipe() && !passing(&p.Components[w.Component]) {
				continue
			}
			next := w.To
			if next == port {
				next = w.From
			}
			if q := &st.Ways[id]; w.IsPipe() && q.Known && q.Flow.Best != 0 {
				if with := (port == w.From) == (q.Flow.Best > 0); with == against {
					continue
				}
			}
			if !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	slices.Sort(out)
	return out
}

// phaseAt is the phase of a port as the solver takes it.
func (s *Skid) phaseAt(port int32) network.Phase { return s.phases[port] }

// gauge is the place that a pressure gauge shows.
func (s *Skid) gauge(c int32) place {
	comp := &s.plant.Components[c]
	spec := comp.Data.GetPressureGauge()
	q := place{label: comp.Tag, component: c, dimension: quantity.PressureGauge, port: comp.FirstPort, way: -1, instrument: true,
		rangeLow: spec.RangeLowPaGauge, rangeHigh: spec.RangeHighPaGauge, shows: "pressure"}
	if sides := s.sides[c]; len(sides) > 0 {
		q.shows = "pressure at the " + strings.Join(sides, " and the ")
	} else if s.phaseAt(q.port) == network.Gas {
		q.shows = "gas pressure"
	} else if s.phaseAt(q.port) == network.Liquid {
		q.shows = "water pressure"
	}
	for _, r := range [2]struct {
		value *float64
		field string
	}{{q.rangeLow, "range_low"}, {q.rangeHigh, "range_high"}} {
		if r.value == nil {
			q.rangeMissing = append(q.rangeMissing, s.spec(c, r.field))
		}
	}
	return q
}

// meter is the place that a flow meter shows.
func (s *Skid) meter(c int32) place {
	comp := &s.plant.Components[c]
	spec := comp.Data.GetFlowMeter()
	zero := 0.0
	q := place{label: comp.Tag, component: c, dimension: quantity.LiquidFlow, way: s.passage(comp.FirstPort, comp.FirstPort+1), instrument: true,
		rangeLow: &zero, rangeHigh: spec.LiquidRangeHighM3PerS, shows: "water flow"}
	field := "liquid_range_high"
	if s.phaseAt(comp.FirstPort) == network.Gas {
		q.dimension, q.rangeHigh, q.shows, field = quantity.GasFlow, spec.GasRangeHighMolPerS, "gas flow", "gas_range_high"
	}
	if q.rangeHigh == nil {
		q.rangeMissing = []string{s.spec(c, field)}
	}
	return q
}

// passage is the way inside a component between two of its ports; -1 where there is none.
func (s *Skid) passage(from, to int32) int32 {
	for _, id := range s.plant.WaysAt(from) {
		if w := &s.plant.Ways[id]; !w.IsPipe() && w.From == from && w.To == to {
			return id
		}
	}
	return -1
}

// tapped is a port as a place where a gauge may be put on.
func (s *Skid) tapped(port int32) place {
	q := place{label: s.plant.PortLabel(port), component: s.plant.Ports[port].Component, dimension: quantity.PressureGauge, port: port, way: -1}
	c := &s.plant.Components[q.component]
	q.shows = "pressure at the " + designfile.Spoken(s.plant.PortName(port)) + " of " + c.Tag
	return q
}

// through is the water that passes an injector or a pump.
func (s *Skid) through(c int32) (place, bool) {
	comp := &s.plant.Components[c]
	q := place{label: comp.Tag, component: c, dimension: quantity.LiquidFlow}
	switch comp.Kind {
	case plant.KindVenturiInjector:
		q.way, q.shows = s.passage(comp.FirstPort, comp.FirstPort+2), "water through the injector"
	case plant.KindPump:
		q.way, q.shows = s.passage(comp.FirstPort, comp.FirstPort+1), "water through the pump"
	default:
		return q, false
	}
	return q, q.way >= 0
}

// findPlaces lists what the instruments show, and then what they leave out at the injectors.
func (s *Skid) findPlaces(st *operate.State) {
	p := s.plant
	s.sides = map[int32][]string{}
	shown := map[[2]int32]bool{} // by injector and port
	for i := range p.Components {
		if p.Components[i].Kind != plant.KindVenturiInjector {
			continue
		}
		for side := int32(0); side < 3; side++ {
			for _, c := range nearby(p, p.Components[i].FirstPort+side, side < 2, st) {
				if p.Components[c].Kind == plant.KindPressureGauge {
					s.sides[c] = append(s.sides[c], injectorSides[side]+" of "+p.Components[i].Tag)
					shown[[2]int32{int32(i), side}] = true
				}
			}
		}
	}
	for i := range p.Components {
		switch c := &p.Components[i]; {
		case c.NumPorts == 0 || p.Ports[c.FirstPort].Joints == 0:
		case c.Kind == plant.KindPressureGauge:
			s.places = append(s.places, s.gauge(int32(i)))
		case c.Kind == plant.KindFlowMeter:
			if q := s.meter(int32(i)); q.way >= 0 {
				s.places = append(s.places, q)
			}
		}
	}
	metered := slices.ContainsFunc(s.places, func(q place) bool { return q.dimension == quantity.LiquidFlow })
	for i := range p.Components {
		c := &p.Components[i]
		if c.Kind != plant.KindVenturiInjector {
			continue
		}
		for side := int32(0); side < 3; side++ {
			if port := c.FirstPort + side; !shown[[2]int32{int32(i), side}] && p.Ports[port].Joints > 0 {
				s.places = append(s.places, s.tapped(port))
			}
		}
		if q, ok := s.through(int32(i)); ok && !metered {
			s.places = append(s.places, q)
		}
	}
}

// resolve finds the place that a reading names: an instrument, a port, or an injector or pump for its water.
func (s *Skid) resolve(label string) (place, string) {
	for _, q := range s.places {
		if q.label == label {
			return q, ""
		}
	}
	tag, name, dotted := strings.Cut(label, ".")
	c, ok := s.plant.FindComponent(tag)
	if !ok {
		return place{}, "the design has no component " + tag + "; readings are taken at " + s.known()
	}
	if dotted {
		if port, ok := s.plant.FindPort(c, name); ok {
			return s.tapped(port), ""
		}
		return place{}, tag + " has no port " + name + "; it has " + strings.Join(s.portNames(c), ", ")
	}
	if q, ok := s.through(c); ok {
		return q, ""
	}
	return place{}, label + " is a " + s.plant.Components[c].Kind.Info().Title + ", which shows no pressure or flow; readings are taken at " + s.known() + ", or at a port as TAG.port"
}

func (s *Skid) known() string {
	var list []string
	for _, q := range s.places {
		if len(list) == 20 {
			list = append(list, "and others")
			break
		}
		list = append(list, q.label)
	}
	if len(list) == 0 {
		return "no instrument, as the design has none"
	}
	return strings.Join(list, ", ")
}

func (s *Skid) portNames(c int32) []string {
	var out []string
	comp := &s.plant.Components[c]
	for k := comp.FirstPort; k < comp.FirstPort+comp.NumPorts; k++ {
		out = append(out, s.plant.PortName(k))
	}
	return out
}

// paths spells data as element paths; spreads of models, which no design states, are left out.
func (s *Skid) paths(list []operate.Datum) []string {
	var out []string
	for _, d := range list {
		if d.Kind != operate.DatumModel {
			out = append(out, d.Path(s.plant))
		}
	}
	return out
}

// isSink and isSource tell the role of a boundary.
func isSink(c *plant.Component) bool {
	return c.Data.GetBoundary().GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK
}

func isSource(c *plant.Component) bool {
	return c.Data.GetBoundary().GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE
}
