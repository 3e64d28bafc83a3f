package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ventLoads is what float vents and the gas ways behind them bear.
type ventLoads struct {
	vesselOf table[int32]  // the vessel of highest pressure that a float vent lets off
	bursts   table[Number] // of float vents
	solved   *solvedBursts // nil where nothing is solved
	gas      flowpath.Highest
	gasFrom  []Number // of the sources of gas
	suction  *flowpath.Reach
}

func (w *World) ventLoads() *ventLoads { return w.offGas.loads.get(w.computeVentLoads) }

func (w *World) computeVentLoads() *ventLoads {
	p := w.Plant
	vents := w.OfKind(plant.KindFloatVentValve)
	x := &ventLoads{vesselOf: newTable[int32](w, len(vents)), bursts: newTable[Number](w, len(vents))}
	var sources, vessels []int32
	var values []float64
	for _, kind := range gasVessels {
		for _, v := range w.OfKind(kind) {
			pressure := w.vesselPressure(v).High
			for _, port := range w.ventPorts(v) {
				sources, vessels, values = append(sources, port), append(vessels, v), append(values, pressure)
			}
		}
	}
	var highest flowpath.Highest
	must(highest.Sweep(w.runWays(), sources, values, 0))
	for _, v := range vents {
		if i := highest.Source(p.PortByTrait(v, 0), 0); i != flowpath.None {
			*x.vesselOf.at(v) = vessels[i]
		}
	}
	x.solved = w.solvedBursts(x)
	for _, v := range vents {
		*x.bursts.at(v) = x.solved.limit(v, w.computeBurst(v, x))
	}
	x.suction = w.spreadGas(flowpath.Backward, w.portsOf(plant.KindBlower, "inlet"), func(way int32, _ bool, h holding) bool {
		return h != noWay && (h != holds || w.kindOfWay(way) == plant.KindOzoneDestruct)
	})
	w.spreadGasPressure(x)
	return x
}

// spreadGasPressure carries the pressure of vessels, and behind float vents what the burst makes, over the gas ways.
func (w *World) spreadGasPressure(x *ventLoads) {
	p := w.Plant
	var sources []int32
	var values []float64
	add := func(ports []int32, pressure Number) {
		for _, port := range ports {
			sources, values = append(sources, port), append(values, pressure.High)
			x.gasFrom = append(x.gasFrom, pressure)
		}
	}
	for _, kind := range gasVessels {
		for _, v := range w.OfKind(kind) {
			add(w.joinedPorts(v, "vent", "overflow", "relief"), w.vesselPressure(v))
		}
	}
	for _, v := range w.OfKind(plant.KindFloatVentValve) {
		add(w.portsNamed(v, "outlet"), w.backPressure(v, p.PortByTrait(v, 1), x))
	}
	ways := w.arcCosts(func(way int32, _ bool, h holding) uint8 {
		if k := w.kindOfWay(way); h == noWay || h == holds || k == plant.KindFloatVentValve || isGasVessel(k) {
			return flowpath.Blocked
		}
		return flowpath.Open
	})
	must(x.gas.Sweep(ways, sources, values, 0))
}

// gasPressure is the highest pressure that off-gas brings to a port.
func (w *World) gasPressure(port int32) Number {
	x := w.ventLoads()
	i := x.gas.Source(port, 0)
	if i == flowpath.None {
		return Missing(elementRef(w.Plant.Ports[port].Component))
	}
	return x.gasFrom[i]
}

// gasPressurePath is the way by which that pressure comes.
func (w *World) gasPressurePath(port int32) Path {
	arcs, ok := w.ventLoads().gas.Path(port, 0)
	if !ok {
		return nil
	}
	return w.reachPath(arcs, port, w.gasRole)
}

// atmosphere is the site's air pressure in Pa abs: stated, else from its altitude at the adverse end of the weather.
func (w *World) atmosphere() Number {
	b := w.Plant.Basis
	if b.AtmosphericPressurePaAbs == nil && b.AltitudeM != nil {
		if r, err := unitop.StandardAtmosphere(*b.AltitudeM); err == nil {
			return Exactly(r.Low)
		}
	}
	return w.number(b.AtmosphericPressurePaAbs, basisRef("atmospheric_pressure"))
}

// vesselPressure is the highest gauge pressure that can come to a vessel in any case, and never below its stated operating
// pressure. A vessel that is not under pressure has none.
func (w *World) vesselPressure(vessel int32) Number {
	return w.offGas.vessels.get(w.pressVessels).of(vessel)
}

func (w *World) pressVessels() *table[Number] {
	pressure := newTable[Number](w, 0)
	for _, kind := range gasVessels {
		for _, v := range w.OfKind(kind) {
			*pressure.at(v) = w.computeVesselPressure(v)
		}
	}
	return &pressure
}

func (w *World) computeVesselPressure(vessel int32) Number {
	pressurised := w.underPressure(vessel)
	if pressurised.Value == False {
		return Exactly(0)
	}
	highest := Exactly(0)
	for _, port := range w.joinedPorts(vessel, "inlet", "vent") {
		highest = highest.Max(w.highestPressure(port, 0))
	}
	if own := operatingPressure(w.data(vessel)); own != nil {
		highest = highest.Max(Exactly(*own))
	}
	if pressurised.Value == Undecided {
		highest.Low = 0
		highest.Missing = joinRefs(highest.Missing, pressurised.Missing)
	}
	return highest
}

// operatingPressure is the stated operating pressure of a vessel.
func operatingPressure(c *skidrulev1.Component) *float64 {
	switch s := c.GetSpec().(type) {
	case *skidrulev1.Component_ContactVessel:
		return s.ContactVessel.OperatingPressurePaGauge
	case *skidrulev1.Component_DegassingVessel:
		return s.DegassingVessel.OperatingPressurePaGauge
	}
	return nil
}

// ventDifference is the highest pressure difference against which a float vent must open.
func (w *World) ventDifference(vent int32) Number {
	x := w.ventLoads()
	vessel, ok := x.vesselOf.find(vent)
	if !ok {
		return Missing(elementRef(vent))
	}
	difference := w.vesselPressure(vessel)
	if x.suction.Reached(w.Plant.PortByTrait(vent, 1)) {
		lowest := Exactly(0)
		for _, b := range w.OfKind(plant.KindBlower) {
			if w.island(b) != w.island(vent) {
				continue
			}
			lowest = lowest.Min(w.number(w.data(b).GetBlower().LowestSuctionPaGauge, specRef(b, "lowest_suction")))
		}
		difference = difference.Sub(lowest)
	}
	return difference
}

// ventOpens is the pressure difference up to which the float opens: what is stated, but no more than float, lever and orifice
// allow. Without a statement only that bound is known.
func (w *World) ventOpens(vent int32) Number {
	spec := w.data(vent).GetFloatVentValve()
	stated := w.number(spec.MaxOpeningDifferencePa, specRef(vent, "max_opening_difference"))
	if spec.FloatMassKg == nil || spec.FloatVolumeM3 == nil || spec.LeverRatioRatio == nil || spec.OrificeDiameterM == nil {
		return stated
	}
	f := unitop.Float{
		Mass: *spec.FloatMassKg, Volume: *spec.FloatVolumeM3, LeverRatio: *spec.LeverRatioRatio,
		Bore: *spec.OrificeDiameterM, SeatDiameter: *spec.OrificeDiameterM,
	}
	opening, err := f.VentOpeningLimit(coldWaterDensity)
	if err != nil {
		return stated
	}
	stated.Low, stated.High = min(stated.Low, opening.HighestDifference.High), min(stated.High, opening.HighestDifference.High)
	return stated
}

// coldWaterDensity is the density in kg/m3 of water at which floats are judged. Source: IAPWS-IF97, water of 4 degC, rounded.
const coldWaterDensity = 1000

// Adverse ends of what is not stated about gas in a burst: a sharp-edged orifice far below its critical pressure ratio, and
// the lightest gas, air, from cold water. Source of the coefficient: Perry's curve, 0.60 to 0.8414, verified
// in a transcription.
const (
	burstCoefficient = 0.84
	burstTemperature = 273.15 // K
)

// burst is the gas in mol/s that a float vent lets out fully open at the highest pressure of its vessel.
func (w *World) burst(vent int32) Number { return w.ventLoads().bursts.of(vent) }

func (w *World) computeBurst(vent int32, x *ventLoads) Number {
	vessel, ok := x.vesselOf.find(vent)
	if !ok {
		return Missing(elementRef(vent))
	}
	spec := w.data(vent).GetFloatVentValve()
	air := w.atmosphere()
	pressure := w.vesselPressure(vessel)
	open := restingOn(0, math.Inf(1), pressure, air)
	if math.IsInf(air.Low, 0) {
		return open
	}
	if spec.CapacityMolPerS == nil || spec.CapacityDifferencePa == nil {
		if spec.OrificeDiameterM == nil {
			open.Missing = joinRefs(open.Missing, []Ref{specRef(vent, "capacity"), specRef(vent, "orifice_diameter")})
			return open
		}
		return w.orificeBurst(vent, Exactly(*spec.OrificeDiameterM), x)
	}
	flow := func(gauge float64) float64 {
		if math.IsInf(gauge, 0) {
			return gauge
		}
		return w.scaledCapacity(*spec.CapacityMolPerS, *spec.CapacityDifferencePa, gauge, air.Low)
	}
	return pressure.with(air, max(0, flow(max(0, pressure.Low))), flow(pressure.High))
}

// burstGas is the lightest gas that a vent lets out.
func (w *World) burstGas() unitop.Gas { return *w.offGas.lightest.get(findBurstGas) }

func findBurstGas() *unitop.Gas {
	air := fluid.DryAir()
	m, err := air.MolarMass()
	must(err)
	k, err := air.HeatCapacityRatio(burstTemperature)
	must(err)
	return &unitop.Gas{MolarMass: m, HeatRatio: k, Compressibility: 1}
}

// scaledCapacity carries a stated capacity over to another pressure by the flow through the same orifice, once for each set of values.
func (w *World) scaledCapacity(capacity, difference, gauge, air float64) float64 {
	return w.offGas.scaled.of([4]float64{capacity, difference, gauge, air}, func() float64 {
		return scaledCapacity(capacity, difference, gauge, air, w.burstGas())
	})
}

func scaledCapacity(capacity, difference, gauge, air float64, gas unitop.Gas) float64 {
	area, err := unitop.OrificeGasArea(capacity*gas.MolarMass, 1, air+difference, air, burstTemperature, gas)
	if err != nil {
		return math.Inf(1)
	}
	f, err := unitop.OrificeGasFlow(area, 1, air+max(0, gauge), air, burstTemperature, gas)
	if err != nil {
		return math.Inf(1)
	}
	return f.Molar
}

// burstInto is the gas that comes to a pot or destruct while every vent before it stands fully open.
func (w *World) burstInto(component int32) Number { return w.burstIntoAt(component, w.ventLoads()) }

func (w *World) burstIntoAt(component int32, x *ventLoads) Number {
	vents := w.destructFeed().vents.of(component)
	if len(vents) == 0 {
		return Missing(elementRef(component))
	}
	feed := w.destructFeed()
	total := Exactly(0)
	for _, v := range vents {
		burst := x.bursts.of(v)
		if _, free := slices.BinarySearch(feed.freely.of(component), v); !free {
			burst = burst.Min(w.restricted(v, x))
		}
		total = total.Add(burst)
	}
	return total
}

// restricted is the most gas in mol/s that the orifices behind a float vent let through at the highest pressure of its vessel.
func (w *World) restricted(vent int32, x *ventLoads) Number {
	total := Exactly(0)
	for _, o := range w.destructFeed().orifices.of(vent) {
		bore := w.number(w.data(o).GetRestrictionOrifice().BoreM, specRef(o, "bore"))
		total = total.Add(w.orificeBurst(vent, bore, x).Max(Exactly(0)))
	}
	return total
}

// orificeBurst is the gas in mol/s that passes a bore from the highest pressure of the vessel before a float vent to the air.
func (w *World) orificeBurst(vent int32, bore Number, x *ventLoads) Number {
	air, pressure := w.atmosphere(), w.vesselPressure(x.vesselOf.of(vent))
	n := restingOn(0, math.Inf(1), pressure, air, bore)
	if math.IsInf(air.Low, 0) || math.IsInf(bore.High, 0) {
		return n
	}
	gas := w.burstGas()
	flow := func(gauge, bore float64) float64 {
		return w.offGas.orifices.of([3]float64{gauge, bore, air.Low}, func() float64 {
			f, err := unitop.BurstFlow(bore, fluid.Exact(burstCoefficient), air.Low+max(0, gauge), air.Low, burstTemperature, gas)
			if err != nil {
				return math.Inf(1)
			}
			return f.Best / gas.MolarMass
		})
	}
	n.High = flow(pressure.High, bore.High)
	if low := flow(pressure.Low, bore.Low); !math.IsInf(low, 0) {
		n.Low = low
	}
	return n
}

// backPressure is what stands behind a float vent while all vents stand fully open: as solved with pipes and parts. Where that lacks
// data it lies between what the parts alone hold back and the pressure of the vessel; where nothing is solved the parts alone count.
func (w *World) backPressure(vent, port int32, x *ventLoads) Number {
	parts := w.partsHoldBack(vent, port, x)
	solved, asked := x.solved.behind(port)
	switch {
	case !asked:
		return parts
	case !solved.Unknown():
		solved.High = max(0, solved.High)
		solved.Low = solved.High
		solved.Missing, solved.Assumed = parts.Missing, parts.Assumed
		if vessel, ok := x.vesselOf.find(vent); ok && !w.vesselPressure(vessel).Known() {
			solved.Low, solved.Missing = 0, joinRefs(solved.Missing, w.vesselPressure(vessel).Missing)
		}
		return solved
	}
	if !slices.ContainsFunc(solved.Missing, func(r Ref) bool { return r.Kind != RefElement }) {
		return parts // no datum that could be stated is missing
	}
	most := Missing()
	if vessel, ok := x.vesselOf.find(vent); ok {
		most = w.vesselPressure(vessel)
	}
	parts.High = max(parts.High, most.High)
	parts.Missing = JoinRefs(parts.Missing, most.Missing, solved.Missing)
	return parts
}

// partsHoldBack is what the parts between a port and the atmosphere hold back while the vents before them stand fully open:
// their stated pressure drops, carried over to the burst with the square of the flow where a rated flow is stated, opening
// pressures of check valves and depths of water seals. Pipes come on top.
func (w *World) partsHoldBack(vent, port int32, x *ventLoads) Number {
	sum := Exactly(0)
	arcs, ok := w.ventWays().sure.Path(port)
	if !ok {
		return Missing(elementRef(vent))
	}
	// A burst below the rated flow is taken as that.
	atBurst := func(c int32, stated *float64, rated Number) Number {
		share := w.burstIntoAt(c, x).Div(rated).Max(Exactly(1))
		return w.number(stated, specRef(c, "pressure_drop")).Mul(share).Mul(share).Max(Exactly(0))
	}
	last := int32(-1)
	for _, arc := range arcs {
		c := w.Plant.Ways[arc/2].Component
		if c < 0 || c == last {
			continue
		}
		last = c
		data := w.data(c)
		switch s := data.GetSpec().(type) {
		case *skidrulev1.Component_OzoneDestruct:
			rated := w.number(s.OzoneDestruct.RatedFlowMolPerS, specRef(c, "rated_flow"))
			sum = sum.Add(atBurst(c, s.OzoneDestruct.PressureDropPa, rated))
		case *skidrulev1.Component_Demister:
			if r := s.Demister.RatedFlowMolPerS; r != nil {
				sum = sum.Add(atBurst(c, s.Demister.PressureDropPa, Exactly(*r)))
			} else {
				sum = sum.Add(w.number(s.Demister.PressureDropPa, specRef(c, "pressure_drop")).Max(Exactly(0)))
			}
		case *skidrulev1.Component_CheckValve:
			sum = sum.Add(w.number(s.CheckValve.OpeningPressurePa, specRef(c, "opening_pressure")).Max(Exactly(0)))
		case *skidrulev1.Component_WaterSeal:
			sum = sum.Add(w.number(s.WaterSeal.DepthM, specRef(c, "depth")).Max(Exactly(0)).Scale(coldWaterDensity * unitop.StandardGravity))
		}
	}
	if vessel, ok := x.vesselOf.find(vent); ok {
		// Behind the vent there is no more pressure than before it.
		sum = sum.Min(w.vesselPressure(vessel))
	}
	return sum
}

// ventedPressure is the highest pressure of the vessel that a float vent lets off.
func (w *World) ventedPressure(vent int32) Number {
	vessel, ok := w.ventLoads().vesselOf.find(vent)
	if !ok {
		return Missing(elementRef(vent))
	}
	return w.vesselPressure(vessel)
}

// deepestSeal is the pressure in Pa up to which the model of a water seal goes; beyond it a seal is at least as deep.
const deepestSeal = 5e5

// sealDepth is the depth of water that holds the gas before a water seal.
func (w *World) sealDepth(seal int32) Number {
	pressure := w.gasPressure(w.Plant.Components[seal].FirstPort)
	depth := func(p float64) float64 {
		d, err := unitop.SealDepth(min(max(0, p), deepestSeal), coldWaterDensity, 0)
		must(err)
		return d
	}
	n := Number{Low: depth(pressure.Low), High: depth(pressure.High), Missing: pressure.Missing, Assumed: pressure.Assumed}
	if pressure.High > deepestSeal {
		n.High = math.Inf(1)
	}
	return n
}
