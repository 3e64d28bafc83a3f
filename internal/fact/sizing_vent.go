package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// ventGas is the gas in mol/s that comes to a float vent while nothing dissolves: all that the injectors before its vessel bring,
// with the water vapour that it takes up.
func (w *World) ventGas(vent, at int32) Number {
	vessel, ok := w.ventLoads().vesselOf.find(vent)
	if !ok {
		return Missing(elementRef(vent))
	}
	x := w.gasNet()
	sum := Exactly(0)
	pressure := Number{Low: math.Inf(1), High: math.Inf(1)}
	for _, j := range w.waterCase(at).into.of(vessel) {
		state := w.operatingAt(j, at)
		pressure = pressure.Min(state.vessel)
		for _, g := range x.injectors.of(j) {
			sum = sum.Add(w.gasCase(at).generator.of(g).high.Scale(1 / float64(len(x.of.of(g).injectors))))
		}
	}
	_, warm := w.waterTemperatures(at)
	air := w.media().atmosphere
	if refs := lacking(sum, pressure, warm, air); len(refs) > 0 || math.IsInf(pressure.Low, 0) {
		return Number{Low: max(0, sum.Low), High: math.Inf(1), Missing: JoinRefs(refs, sum.Missing)}
	}
	share, err := fluid.SaturatedWaterFraction(warm.High, air.Low+pressure.Low)
	if err != nil {
		return Number{Low: max(0, sum.Low), High: math.Inf(1), Missing: []Ref{basisRef("max_water_temperature")}}
	}
	return settle(sum.High/(1-share), sum.Low, JoinRefs(sum.Assumed, pressure.Assumed, warm.Assumed, air.Assumed))
}

// ventCapacity is the least gas in mol/s that the float vents of a vessel let out at its operating pressure in a case. A stated
// capacity is taken to be of air.
func (w *World) ventCapacity(vent, at int32) Number {
	loads := w.ventLoads()
	vessel, ok := loads.vesselOf.find(vent)
	if !ok {
		return Missing(elementRef(vent))
	}
	pressure := Number{Low: math.Inf(1), High: math.Inf(1)}
	for _, j := range w.waterCase(at).into.of(vessel) {
		pressure = pressure.Min(w.operatingAt(j, at).vessel)
	}
	air := w.media().atmosphere
	if refs := lacking(pressure, air); len(refs) > 0 || math.IsInf(pressure.Low, 0) {
		return Number{Low: 0, High: math.Inf(1), Missing: refs}
	}
	total := Exactly(0)
	for _, v := range w.ventsOn()[vessel] {
		total = total.Add(w.oneVentCapacity(v, pressure.Low, air.Low))
	}
	total.Assumed = JoinRefs(total.Assumed, pressure.Assumed, air.Assumed)
	return total
}

// ventsOn lists the float vents that let off each vessel.
func (w *World) ventsOn() map[int32][]int32 {
	return *w.sizing.ventsOn.get(func() *map[int32][]int32 {
		out := map[int32][]int32{}
		loads := w.ventLoads()
		for _, v := range w.OfKind(plant.KindFloatVentValve) {
			if vessel, ok := loads.vesselOf.find(v); ok {
				out[vessel] = append(out[vessel], v)
			}
		}
		return &out
	})
}

func (w *World) oneVentCapacity(vent int32, gauge, air float64) Number {
	spec := w.data(vent).GetFloatVentValve()
	heavier := math.Sqrt(fluid.MolarMassAir / heavyGas)
	if spec.CapacityMolPerS != nil && spec.CapacityDifferencePa != nil {
		return Exactly(heavier * w.scaledCapacity(*spec.CapacityMolPerS, *spec.CapacityDifferencePa, gauge, air))
	}
	// The orifice alone passes no more than this; what the body of the vent costs is not known.
	lacks := []Ref{specRef(vent, "capacity"), specRef(vent, "capacity_difference")}
	bore := w.number(spec.OrificeDiameterM, specRef(vent, "orifice_diameter"))
	if math.IsInf(bore.High, 0) {
		return Number{Low: 0, High: math.Inf(1), Missing: joinRefs(bore.Missing, lacks)}
	}
	gas := w.burstGas()
	f, err := unitop.BurstFlow(bore.High, fluid.Exact(burstCoefficient), air+max(0, gauge), air, burstTemperature, gas)
	if err != nil {
		return Number{Low: 0, High: math.Inf(1), Missing: lacks}
	}
	return Number{Low: 0, High: f.Best / gas.MolarMass, Missing: lacks, Assumed: bore.Assumed}
}
