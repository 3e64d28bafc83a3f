package fact

import (
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasHolding judges one passage against ozone-bearing gas that moves along it, forward in the direction of normal flow or
// against it. Where water fills a passage in normal operation gas does not take it. note and missing are those of
// waterHolding.
func (w *World) gasHolding(way int32, forward bool) (h holding, note string, missing []Ref) {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return letsPass, "", nil
	}
	c := &w.Plant.Components[q.Component]
	switch c.Kind {
	case plant.KindOzoneGenerator, plant.KindCheckValve, plant.KindReliefValve, plant.KindRuptureDisc,
		plant.KindVacuumBreaker, plant.KindCompressor, plant.KindOxygenConcentrator:
		if !forward || w.touchesLiquid(q) {
			return noWay, "", nil
		}
		return letsPass, "", nil
	case plant.KindOzoneDestruct:
		if c.Data.GetOutOfUse() {
			return letsPass, "out of use", nil
		}
		if w.touchesLiquid(q) {
			return letsPass, "gas comes to its drain without passing the bed", nil
		}
		return holds, "destroys ozone", nil
	case plant.KindLiquidTrap:
		// What its drain does to gas is a question of the gas feed's own rules.
		return w.unlessLiquid(q)
	case plant.KindKnockOutPot:
		if !w.touchesLiquid(q) {
			return letsPass, "", nil
		}
		return sealHolding(w.truth(c.Data.GetKnockOutPot().GasSeal, specRef(q.Component, "gas_seal")), "its drain does not hold gas")
	case plant.KindFloatDrain:
		return sealHolding(w.sealsGas(q.Component), "it does not hold gas")
	case plant.KindWaterSeal:
		if w.Plant.PortName(q.From) == "fill" {
			return noWay, "", nil
		}
		return sealHolding(w.sealsGas(q.Component), "filled by hand, it dries out unseen")
	case plant.KindHandValve:
		if c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED {
			if c.Data.GetLocked() && !w.everMoved(q.Component, skidrulev1.ValvePosition_VALVE_POSITION_OPEN, skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED) {
				return noWay, "", nil
			}
			return letsPass, "closed but not locked", nil
		}
		return letsPass, "", nil
	case plant.KindDemister:
		return letsPass, "", nil
	case plant.KindContactVessel, plant.KindOpenTank:
		if w.Plant.PortName(q.To) == "overflow" || w.Plant.PortName(q.From) == "overflow" {
			return letsPass, "an overflow lets gas out while no water runs", nil
		}
	case plant.KindVenturiInjector:
		if !forward && c.Data.GetVenturiInjector().GetIntegralCheckValve() {
			return noWay, "", nil
		}
	}
	return w.unlessLiquid(q)
}

// unlessLiquid lets gas pass unless water fills the passage.
func (w *World) unlessLiquid(q *plant.Way) (holding, string, []Ref) {
	if w.touchesLiquid(q) {
		return noWay, "", nil
	}
	return letsPass, "", nil
}

// touchesLiquid tells whether a passage begins or ends at a port that is made for liquid.
func (w *World) touchesLiquid(q *plant.Way) bool {
	return w.Plant.Ports[q.From].Phase == skidrulev1.Phase_PHASE_LIQUID || w.Plant.Ports[q.To].Phase == skidrulev1.Phase_PHASE_LIQUID
}

// sealHolding turns the answer whether gas is held into a holding.
func sealHolding(sealed Truth, note string) (holding, string, []Ref) {
	switch sealed.Value {
	case True:
		return holds, "holds gas", nil
	case Undecided:
		return maybeHolds, "", sealed.Missing
	}
	return letsPass, note, nil
}

// everMoved tells whether a case that can occur states one of the positions of a valve.
func (w *World) everMoved(component int32, positions ...skidrulev1.ValvePosition) bool {
	for i := range w.Cases {
		c := &w.Cases[i]
		if c.Excluded != "" {
			continue
		}
		stated := c.Stated(component).GetPosition()
		for _, p := range positions {
			if stated == p {
				return true
			}
		}
	}
	return false
}

// gasClass tells of every arc how it stands against gas, judged once.
func (w *World) gasClass() []holding { return *w.offGas.ways.get(w.classifyGas) }

func (w *World) classifyGas() *[]holding {
	ways := w.Plant.Ways
	class := make([]holding, 2*len(ways))
	for i := range ways {
		if ways[i].IsPipe() {
			continue
		}
		class[2*i], _, _ = w.gasHolding(int32(i), true)
		class[2*i+1], _, _ = w.gasHolding(int32(i), false)
	}
	return &class
}

// gasRole tells what a passage does to gas, for paths that are shown.
func (w *World) gasRole(way int32, forward bool) (skidrulev1.StepRole, string) {
	return w.shownRole(w.gasHolding(way, forward))
}

// shownRole turns a judgement into what is shown at a step. What is not stated may lie elsewhere than at the step, so it is named by
// its path.
func (w *World) shownRole(h holding, note string, missing []Ref) (skidrulev1.StepRole, string) {
	switch {
	case h == holds || h == noWay:
		return skidrulev1.StepRole_STEP_ROLE_BARRIER, note
	case h == maybeHolds:
		var paths []string
		for _, ref := range missing {
			if path := strings.TrimPrefix(ref.Path(w.Plant), "components."); !slices.Contains(paths, path) {
				paths = append(paths, path)
			}
		}
		if len(paths) > 0 {
			note = "not stated: " + strings.Join(paths, ", ")
		}
		return skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, note
	case note != "":
		return skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, note
	}
	return skidrulev1.StepRole_STEP_ROLE_PASSES, ""
}

// arcCosts makes the ways of a search from a choice for each arc.
func (w *World) arcCosts(choose func(way int32, forward bool, gas holding) uint8) *flowpath.Ways {
	w.pause()
	class := w.gasClass()
	ways, err := flowpath.JudgeWays(w.Graph(), func(arc int32) uint8 { return choose(arc>>1, arc&1 == 0, class[arc]) })
	must(err)
	return ways
}

// spreadGas is spread with a choice that knows how each way stands against gas.
func (w *World) spreadGas(d flowpath.Direction, from []int32, open func(way int32, forward bool, gas holding) bool) *flowpath.Reach {
	w.pause()
	class := w.gasClass()
	r := &flowpath.Reach{}
	must(r.Follow(w.Graph(), d, from, func(arc int32) bool { return open(arc>>1, arc&1 == 0, class[arc]) }))
	return r
}

// passesGas tells whether gas that a barrier does not hold for sure comes along a way.
func passesGas(h holding) Verdict {
	switch h {
	case letsPass:
		return True
	case maybeHolds:
		return Undecided
	}
	return False
}

// reachOver searches from ports over ways.
func reachOver(ways *flowpath.Ways, d flowpath.Direction, from []int32) *flowpath.Reach {
	r := &flowpath.Reach{}
	must(r.Sweep(ways, d, from, flowpath.Avoid{Barriers: true}))
	return r
}

// portsOf lists the ports of the components of a kind that bear one of the names; repeated ports bear their first name too.
func (w *World) portsOf(kind plant.Kind, names ...string) []int32 {
	of := w.OfKind(kind)
	if len(of) == 0 {
		return nil
	}
	out := make([]int32, 0, len(of)*len(names))
	for _, c := range of {
		out = w.appendPorts(out, c, names...)
	}
	return out
}

// portsNamed lists the ports of one component that bear one of the names, those of the first name and its repeats first.
func (w *World) portsNamed(component int32, names ...string) []int32 {
	return w.appendPorts(make([]int32, 0, len(names)), component, names...)
}

// appendPorts is portsNamed behind a list.
func (w *World) appendPorts(out []int32, component int32, names ...string) []int32 {
	p := w.Plant
	c := &p.Components[component]
	info := c.Kind.Info()
	for _, name := range names {
		for t := range info.Ports {
			if info.Ports[t].Name != name {
				continue
			}
			for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
				if int(p.Ports[port].Trait) == t {
					out = append(out, port)
				}
			}
		}
	}
	return out
}
