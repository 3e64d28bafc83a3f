package fact

import (
	"errors"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// potIndex holds the state of each pot at the burst.
type potIndex struct{ velocity, droplet table[Number] }

// potBurst gives gas velocity and smallest droplet removed of a pot at the burst.
func (w *World) potBurst(pot int32) (velocity, droplet Number) {
	x := w.offGas.pots.get(w.burstPots)
	return x.velocity.of(pot), x.droplet.of(pot)
}

func (w *World) burstPots() *potIndex {
	pots := w.OfKind(plant.KindKnockOutPot)
	x := &potIndex{velocity: newTable[Number](w, len(pots)), droplet: newTable[Number](w, len(pots))}
	for _, pot := range pots {
		*x.velocity.at(pot), *x.droplet.at(pot) = w.computePotBurst(pot)
	}
	return x
}

// potState is what a knock-out pot does at the burst.
type potState struct {
	velocity, droplet float64 // m/s and m
}

// potInput is what the pot model needs: the burst in mol/s, temperature in K, pressure in Pa, and the pot's diameter and
// heights of inlet and outlet in m.
type potInput struct {
	flow, t, p, diameter, low, high float64
	horizontal                      bool
}

// potAt runs the pot model at a burst, at the adverse end of the droplet's fall.
func potAt(in potInput) potState {
	flow, t, p, diameter, low, high, horizontal := in.flow, in.t, in.p, in.diameter, in.low, in.high, in.horizontal
	worst := potState{}
	if flow <= 0 {
		return worst
	}
	rho, err := fluid.WaterDensity(t, p)
	if err != nil {
		return potState{math.Inf(1), math.Inf(1)}
	}
	volume, err := fluid.VolumeFlow(flow, t, p)
	if err != nil {
		return potState{math.Inf(1), math.Inf(1)}
	}
	for _, gas := range feedGases() {
		density, err1 := gas.Density(t, p)
		viscosity, err2 := gas.Viscosity(t)
		if err1 != nil || err2 != nil {
			return potState{math.Inf(1), math.Inf(1)}
		}
		fluids := unitop.PotFluids{GasDensity: density.Best, GasViscosity: viscosity.Best, LiquidDensity: rho}
		var s unitop.PotSeparation
		if horizontal {
			s, err = unitop.HorizontalPot(diameter, high, low, volume, fluids)
		} else {
			s, err = unitop.VerticalPot(diameter, high-low, volume, fluids)
		}
		if err != nil {
			// Even the largest droplet that the model covers is carried out, or the pot has no room to settle in.
			v := volume / (math.Pi / 4 * diameter * diameter)
			if !errors.Is(err, unitop.ErrNoSolution) {
				v = math.Inf(1)
			}
			return potState{v, math.Inf(1)}
		}
		worst.velocity, worst.droplet = max(worst.velocity, s.Velocity), max(worst.droplet, s.Droplet.High)
	}
	return worst
}

// computePotBurst runs the model, each result a range where data is missing.
func (w *World) computePotBurst(pot int32) (velocity, droplet Number) {
	spec := w.data(pot).GetKnockOutPot()
	flow := w.burstInto(pot)
	t := w.number(w.Plant.Basis.MaxWaterTemperatureK, basisRef("max_water_temperature"))
	diameter := w.number(spec.DiameterM, specRef(pot, "diameter"))
	low := w.number(spec.InletHeightM, specRef(pot, "inlet_height"))
	high := w.number(spec.GasOutletHeightM, specRef(pot, "gas_outlet_height"))
	horizontal := spec.GetOrientation() == skidrulev1.PotOrientation_POT_ORIENTATION_HORIZONTAL
	if horizontal {
		high = w.number(spec.HeightM, specRef(pot, "height"))
	}
	air := w.atmosphere()
	open := restingOn(0, math.Inf(1), flow, t, diameter, low, high, air)
	if spec.GetOrientation() == skidrulev1.PotOrientation_POT_ORIENTATION_UNSPECIFIED {
		open.Missing = joinRefs(open.Missing, []Ref{specRef(pot, "orientation")})
	}
	if len(open.Missing) > 0 || math.IsInf(flow.High, 0) {
		return open, open
	}
	// Pots that are alike are computed once.
	state := func(in potInput) potState {
		return w.offGas.potStates.of(in, func() potState { return potAt(in) })
	}
	worst := state(potInput{flow.High, t.High, air.Low, diameter.Low, low.High, high.Low, horizontal})
	best := state(potInput{flow.Low, t.Low, air.High, diameter.High, low.Low, high.High, horizontal})
	velocity = Number{Low: min(best.velocity, worst.velocity), High: worst.velocity, Assumed: open.Assumed}
	droplet = Number{Low: min(best.droplet, worst.droplet), High: worst.droplet, Assumed: open.Assumed}
	return velocity, droplet
}

// soudersBrown is the highest gas velocity in the pot by the equation of Souders and Brown, at its low end.
func (w *World) soudersBrown(pot int32) Number {
	spec := w.data(pot).GetKnockOutPot()
	t := w.number(w.Plant.Basis.MaxWaterTemperatureK, basisRef("max_water_temperature"))
	air := w.atmosphere()
	open := restingOn(0, math.Inf(1), t, air)
	if len(open.Missing) > 0 {
		return open
	}
	// The gas and the water are those of the site: every pot has the same two limits.
	limits := w.offGas.souders.get(func() *[2]float64 {
		return &[2]float64{soudersLimit(false, t.Low, air.High), soudersLimit(true, t.Low, air.High)}
	})
	without, with := limits[0], limits[1]
	switch {
	case spec.Demister == nil:
		return Number{Low: without, High: with, Missing: []Ref{specRef(pot, "demister")}, Assumed: open.Assumed}
	case *spec.Demister:
		return Number{Low: with, High: with, Assumed: open.Assumed}
	}
	return Number{Low: without, High: without, Assumed: open.Assumed}
}

// soudersLimit is the highest gas velocity in m/s in a pot with or without a pad, of the densest feed at a temperature in K and a
// pressure in Pa abs.
func soudersLimit(pad bool, temperature, pressure float64) float64 {
	k, err := unitop.SoudersBrownK(0, pad)
	must(err)
	lowest := math.Inf(1)
	for _, gas := range feedGases() {
		density, err1 := gas.Density(temperature, pressure)
		rho, err2 := fluid.WaterDensity(temperature, pressure)
		if err1 != nil || err2 != nil {
			return 0
		}
		v, err := unitop.SoudersBrownVelocity(k, rho, density.Best)
		must(err)
		lowest = min(lowest, v.Low)
	}
	return lowest
}
