package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// dropletHolding judges one passage against droplets and slugs that gas or pressure carries along it.
func (w *World) dropletHolding(way int32, forward bool) (h holding, note string, missing []Ref) {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return letsPass, "", nil
	}
	c := &w.Plant.Components[q.Component]
	switch c.Kind {
	case plant.KindOzoneDestruct, plant.KindOzoneGenerator, plant.KindOxygenConcentrator, plant.KindCompressor:
		return noWay, "", nil
	case plant.KindCheckValve, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindPump:
		if !forward {
			return noWay, "", nil
		}
	case plant.KindHandValve:
		return w.gasHolding(way, forward)
	case plant.KindVenturiInjector:
		if !forward && c.Data.GetVenturiInjector().GetIntegralCheckValve() {
			return noWay, "", nil
		}
	case plant.KindDemister:
		return letsPass, "a demister takes no slug", nil
	case plant.KindKnockOutPot:
		if w.touchesLiquid(q) {
			return letsPass, "liquid leaves by its drain", nil
		}
		if !forward {
			return letsPass, "gas passes it backwards", nil
		}
		return w.potHolding(q.Component)
	}
	return letsPass, "", nil
}

// potHolding judges a knock-out pot: it holds liquid back while its drain takes the liquid away and gas leaves it above the
// end of its inlet.
func (w *World) potHolding(pot int32) (holding, string, []Ref) {
	p := w.Plant
	data := w.data(pot)
	if data.GetOutOfUse() {
		return letsPass, "out of use", nil
	}
	spec := data.GetKnockOutPot()
	if drain, ok := p.FindPort(pot, "drain"); !ok || p.Ports[drain].Joints == 0 {
		return letsPass, "its drain is not connected", nil
	}
	var missing []Ref
	switch spec.GetDrainPrinciple() {
	case skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_MANUAL:
		return letsPass, "its drain opens by hand only", nil
	case skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_UNSPECIFIED:
		missing = append(missing, specRef(pot, "drain_principle"))
	}
	above := w.number(spec.GasOutletHeightM, specRef(pot, "gas_outlet_height")).MoreThan(w.number(spec.InletHeightM, specRef(pot, "inlet_height")))
	switch above.Value {
	case False:
		return letsPass, "gas does not leave it above its inlet", nil
	case Undecided:
		missing = append(missing, above.Missing...)
	}
	if len(missing) > 0 {
		return maybeHolds, "", missing
	}
	return holds, "separates droplets", nil
}

// dropletReach tells where droplets come: may counts only separators that are known to work, must those too that would if
// missing data turn out well; past also passes every separator.
type dropletReach struct{ may, must, past *flowpath.Reach }

func (w *World) droplets() *dropletReach { return w.offGas.droplets.get(w.spreadDroplets) }

func (w *World) spreadDroplets() *dropletReach {
	sources := w.dropletSources()
	class := w.dropletClass()
	x := &dropletReach{}
	x.may, x.must = w.spreadBoth(flowpath.Forward, sources, func(way int32, forward bool) Verdict { return passesGas(class[arcOf(way, forward)]) })
	x.past = w.spread(flowpath.Forward, sources, func(way int32, forward bool) bool {
		h := class[arcOf(way, forward)]
		return h != noWay && (h != holds || w.kindOfWay(way) == plant.KindKnockOutPot)
	})
	return x
}

// dropletClass tells of every arc how it stands against droplets: two searches come to most of them.
func (w *World) dropletClass() []holding {
	class := make([]holding, w.Graph().NumArcs())
	for i := range w.Plant.Ways {
		if w.Plant.Ways[i].IsPipe() {
			break // passages stand before pipes
		}
		class[2*i], _, _ = w.dropletHolding(int32(i), true)
		class[2*i+1], _, _ = w.dropletHolding(int32(i), false)
	}
	return class
}

// dropletSources lists the ports where gas and water are together: vessels, injectors, and the edges of the drawing where
// water or off-gas enters.
func (w *World) dropletSources() []int32 {
	var out []int32
	for _, kind := range gasVessels {
		out = append(out, w.portsOf(kind, "inlet", "outlet", "vent", "overflow", "drain", "sample", "relief")...)
	}
	out = append(out, w.portsOf(plant.KindVenturiInjector, "motive_inlet", "outlet")...)
	out = append(out, w.portsOf(plant.KindPump, "inlet", "outlet")...)
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
			continue
		}
		if gas, stated := isGas(b.GetService()); stated && !gas || b.GetService() == skidrulev1.Service_SERVICE_OFF_GAS {
			out = append(out, w.Plant.Components[c].FirstPort)
		}
	}
	return out
}

// wetGasArrives tells whether gas that was over water comes to a destruct, dried or not.
func (w *World) wetGasArrives(destruct int32) Truth {
	_, ok := w.dropletPort(w.droplets().past, destruct)
	return Is(ok)
}

// dropletPort is the gas port of a destruct that droplets come to.
func (w *World) dropletPort(r *flowpath.Reach, destruct int32) (int32, bool) {
	for trait := range 2 {
		if port := w.Plant.PortByTrait(destruct, trait); r.Reached(port) {
			return port, true
		}
	}
	return 0, false
}

// separated tells whether every way of wet gas to the destruct passes a pot that works.
func (w *World) separated(destruct int32) Truth {
	d := w.droplets()
	if _, ok := w.dropletPort(d.must, destruct); ok {
		return Truth{}
	}
	port, ok := w.dropletPort(d.may, destruct)
	if !ok {
		return Truth{Value: True}
	}
	arcs, _ := d.may.Path(port)
	return Open(doubtsOn(arcs, w.dropletHolding)...)
}

// dropletPath is the way of wet gas to the destruct that meets no working pot.
func (w *World) dropletPath(destruct int32) Path {
	d := w.droplets()
	for _, r := range [2]*flowpath.Reach{d.must, d.may} {
		if port, ok := w.dropletPort(r, destruct); ok {
			arcs, _ := r.Path(port)
			return w.reachPath(arcs, port, func(way int32, forward bool) (skidrulev1.StepRole, string) {
				return w.shownRole(w.dropletHolding(way, forward))
			})
		}
	}
	return nil
}

// potHeight is the inner height of a pot: its height when upright, its diameter when lying.
func (w *World) potHeight(pot int32) Number {
	spec := w.data(pot).GetKnockOutPot()
	height := w.number(spec.HeightM, specRef(pot, "height"))
	diameter := w.number(spec.DiameterM, specRef(pot, "diameter"))
	switch spec.GetOrientation() {
	case skidrulev1.PotOrientation_POT_ORIENTATION_VERTICAL:
		return height
	case skidrulev1.PotOrientation_POT_ORIENTATION_HORIZONTAL:
		return diameter
	}
	return Missing(specRef(pot, "orientation"))
}

// drainJoined tells whether a line meets the drain of a pot or destruct.
func (w *World) drainJoined(component int32) Truth {
	port, ok := w.Plant.FindPort(component, "drain")
	return Is(ok && w.Plant.Ports[port].Joints > 0)
}
