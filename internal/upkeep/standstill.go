package upkeep

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// workingKinds are the parts whose standing still is worth telling.
var workingKinds = []plant.Kind{
	plant.KindCompressor, plant.KindBlower, plant.KindGasReceiver, plant.KindGasDryer, plant.KindOxygenConcentrator, plant.KindOzoneGenerator,
	plant.KindLiquidTrap, plant.KindVenturiInjector, plant.KindPump, plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel,
	plant.KindOpenTank, plant.KindHeatExchanger, plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindOzoneDestruct,
}

// runningKinds are the parts that tell whether a train runs.
var runningKinds = []plant.Kind{plant.KindOzoneGenerator, plant.KindVenturiInjector, plant.KindPump}

// standstill finds what does nothing while a module is out.
type standstill struct {
	w       *fact.World
	module  int32
	iso     *fact.Isolation
	stopped map[int32]string // by component, why

	before, after *streamReach // with the module in its place, and out
}

// stillStanding finds what stops: what is shut in with the module, what gets nothing or leads nowhere because of it, what is driven
// by it, and generators whose gas would have no way out.
func stillStanding(w *fact.World, module int32, iso *fact.Isolation) *standstill {
	s := &standstill{w: w, module: module, iso: iso, stopped: map[int32]string{}}
	p := w.Plant
	tag := p.Components[module].Tag
	for _, c := range iso.With {
		if slices.Contains(workingKinds, p.Components[c].Kind) {
			s.stopped[c] = "no valve parts it from " + tag
		}
	}
	s.driven(tag)
	s.before, s.after = s.streams(false), s.streams(true)
	for i := range p.Components {
		if c := int32(i); c != module && s.stopped[c] == "" && slices.Contains(workingKinds, p.Components[c].Kind) {
			if why := s.lost(c); why != "" {
				s.stopped[c] = why
			}
		}
	}
	s.withoutOutlet()
	return s
}

// driven notes what the module drives: a power supply its generators, a controller what it commands.
func (s *standstill) driven(tag string) {
	p := s.w.Plant
	for i := range p.Components {
		c, data := int32(i), p.Components[i].Data
		switch p.Components[s.module].Kind {
		case plant.KindPowerSupply:
			if supplies := data.GetOzoneGenerator().GetPowerSupplies(); slices.Contains(supplies, tag) {
				s.stopped[c] = tag + " drives it"
			}
		case plant.KindController:
			if data.GetCommandedBy() == tag && slices.Contains(workingKinds, p.Components[i].Kind) {
				s.stopped[c] = tag + " commands it"
			}
		}
	}
}

// streamReach is where streams come from sources, and from where they leave.
type streamReach struct{ fed, led flowpath.Reach }

// streams follows normal flow through the drawing, with the module out and its valves shut or not.
func (s *standstill) streams(out bool) *streamReach {
	p, g := s.w.Plant, s.w.Graph()
	costs := make([]uint8, g.NumArcs())
	for arc := range costs {
		if !s.flows(int32(arc)) || out && s.dead(int32(arc)/2) {
			costs[arc] = flowpath.Blocked
		}
	}
	ways, err := flowpath.NewWays(g, costs)
	must(err)
	var sources, sinks []int32
	for i := range p.Components {
		if c := int32(i); !out || c != s.module {
			from, to := streamEnds(s.w, c)
			sources, sinks = append(sources, from...), append(sinks, to...)
		}
	}
	x := &streamReach{}
	must(x.fed.Sweep(ways, flowpath.Forward, sources, flowpath.Avoid{}))
	must(x.led.Sweep(ways, flowpath.Backward, sinks, flowpath.Avoid{}))
	return x
}

// streamEnds gives the ports of a component at which streams of the drawing begin and end. Machines that a line feeds pass on what
// comes; vessels under pressure pass on what comes as well.
func streamEnds(w *fact.World, c int32) (sources, sinks []int32) {
	p := w.Plant
	switch p.Components[c].Kind {
	case plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindVenturiInjector, plant.KindOzoneGenerator:
		return nil, nil
	case plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator:
		if inlet, ok := p.FindPort(c, "inlet"); ok && p.Ports[inlet].Joints > 0 {
			return nil, nil
		}
	}
	return w.StreamEnds(c)
}

// flows tells whether an arc is a way of normal flow, side streams such as vents and drains among them.
func (s *standstill) flows(arc int32) bool {
	if s.w.MayRun(arc) {
		return !s.normallyShut(arc / 2)
	}
	q := &s.w.Plant.Ways[arc/2]
	if q.IsPipe() || arc%2 == 1 || s.w.Plant.Components[q.Component].Data.GetOutOfUse() {
		return false
	}
	switch s.w.Plant.Components[q.Component].Kind {
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindSamplePoint:
		return false
	}
	return !s.normallyShut(arc / 2)
}

func (s *standstill) normallyShut(way int32) bool {
	c := s.w.Plant.Ways[way].Component
	return c >= 0 && s.w.Plant.Components[c].Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
}

// dead tells whether nothing flows along a way while the module is out.
func (s *standstill) dead(way int32) bool {
	q := &s.w.Plant.Ways[way]
	return q.Component == s.module || s.iso.Section.Has(q.From) || s.iso.Section.Has(q.To) ||
		q.Component >= 0 && (slices.Contains(s.iso.Valves, q.Component) || s.stopped[q.Component] != "" && stopsWholly(s.w.Plant.Components[q.Component].Kind))
}

// stopsWholly tells the parts that pass nothing while they stand.
func stopsWholly(k plant.Kind) bool {
	return k == plant.KindCompressor || k == plant.KindOxygenConcentrator || k == plant.KindPump
}

// lost says what a component has lost; empty where nothing.
func (s *standstill) lost(c int32) string {
	p := s.w.Plant
	for _, port := range joined(p, c) {
		switch p.Ports[port].Direction {
		case skidrulev1.FlowDirection_FLOW_DIRECTION_IN:
			if s.before.fed.Reached(port) && !s.after.fed.Reached(port) {
				return "nothing comes to its port " + p.PortName(port)
			}
		case skidrulev1.FlowDirection_FLOW_DIRECTION_OUT:
			if s.before.led.Reached(port) && !s.after.led.Reached(port) {
				return "its port " + p.PortName(port) + " leads nowhere"
			}
		}
	}
	return ""
}

// withoutOutlet stops generators whose gas comes to a vessel that has lost the way of its off-gas.
func (s *standstill) withoutOutlet() {
	p := s.w.Plant
	for i := range p.Components {
		c := int32(i)
		switch p.Components[i].Kind {
		case plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank:
		default:
			continue
		}
		for _, port := range joined(p, c) {
			if !strings.HasPrefix(p.PortName(port), "vent") || !s.before.led.Reached(port) || s.after.led.Reached(port) {
				continue
			}
			why := "the off-gas of " + p.Components[c].Tag + " has no way out"
			for _, g := range s.w.OzoneFrom(c) {
				sources, injectors := s.w.GasOf(g)
				for _, other := range slices.Concat([]int32{g}, sources, injectors) {
					if s.stopped[other] == "" && other != s.module && slices.Contains(workingKinds, p.Components[other].Kind) {
						s.stopped[other] = why
					}
				}
			}
			break
		}
	}
}

// list gives what stops in order of the design, and what keeps running of what tells whether a train runs.
func (s *standstill) list() (out []*skidrulev1.Standstill, running []string) {
	p := s.w.Plant
	for i := range p.Components {
		c := int32(i)
		if c == s.module {
			continue
		}
		switch why := s.stopped[c]; {
		case why != "":
			out = append(out, &skidrulev1.Standstill{Tag: p.Components[i].Tag, Reason: why})
		case slices.Contains(runningKinds, p.Components[i].Kind) && isDrawn(p, c) && !p.Components[i].Data.GetOutOfUse():
			running = append(running, p.Components[i].Tag)
		}
	}
	return out, running
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}
