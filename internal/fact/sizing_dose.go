package fact

import (
	"errors"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// doseCase is what dissolves in each vessel in a case.
type doseCase struct {
	vessel table[*vesselDose] // ascending
}

// vesselDose is the ozone of one vessel in a case at the adverse end of everything.
type vesselDose struct {
	component   int32
	applied     Number // kg/s that comes with the gas
	transferred Number // kg/s that dissolves
	share       Number // transferred over applied
	residual    Number // kg/m3 in the water that leaves
	ends        []residualAt
	water       Number    // m3/s
	time        Number    // s that all but a tenth of the water stays
	logs        [3]Number // least log inactivation of each of organisms
}

// organisms are those whose inactivation is calculated.
var organisms = [...]unitop.Organism{unitop.Giardia, unitop.Virus, unitop.Cryptosporidium}

// residualAt is the least residual at one end of the water temperature.
type residualAt struct{ temperature, residual float64 }

func (w *World) doseCase(at int32) *doseCase {
	if at < 0 || w.Cases[at].Design == nil || w.Cases[at].Design.WaterTemperatureK == nil {
		at = w.stateCase(at)
	}
	return w.caseMemo().dose[at].get(func() *doseCase {
		water := w.waterCase(at)
		c := &doseCase{vessel: newTable[*vesselDose](w, len(water.contactOf.list))}
		for v := range int32(len(w.Plant.Components)) {
			injectors := water.contactOf.of(v)
			if slices.ContainsFunc(injectors, func(j int32) bool { return len(w.gasNet().injectors.of(j)) > 0 }) {
				d := w.findVesselDose(v, injectors, at)
				d.time = w.findContactTime(v, d)
				for i, o := range organisms {
					d.logs[i] = w.findInactivation(d, o)
				}
				*c.vessel.at(v) = d
			}
		}
		return c
	})
}

// contactStream is what comes to a vessel: ozone and gas of its injectors, and their water.
type contactStream struct {
	ozone, gas, water, pressure, purity Number
}

// streamInto sums what injectors bring to a vessel.
func (w *World) streamInto(injectors []int32, at int32) contactStream {
	x := w.gasNet()
	s := contactStream{ozone: Exactly(0), gas: Exactly(0), water: Exactly(0)}
	s.pressure = Number{Low: math.Inf(1), High: math.Inf(1)}
	s.purity = Number{Low: math.Inf(1), High: math.Inf(1)}
	for _, j := range injectors {
		state := w.operatingAt(j, at)
		s.water = s.water.Add(state.motive)
		s.pressure = s.pressure.Min(state.vessel)
		for _, g := range x.injectors.of(j) {
			part := 1 / float64(len(x.of.of(g).injectors))
			s.ozone = s.ozone.Add(w.lowestOutput(g, at).Scale(part))
			s.gas = s.gas.Add(w.gasCase(at).generator.of(g).low.Scale(part))
			s.purity = s.purity.Min(w.feedPurity(g))
		}
	}
	return s
}

// findVesselDose runs the contact model at both ends of the water temperature and of the water flow and takes the least of each.
func (w *World) findVesselDose(v int32, injectors []int32, at int32) *vesselDose {
	s := w.streamInto(injectors, at)
	d := &vesselDose{component: v, applied: s.ozone, water: s.water}
	basis := w.Plant.Basis
	demand := w.number(basis.OzoneDemandKgPerM3, basisRef("ozone_demand"))
	decay := w.number(basis.OzoneDecayPerS, basisRef("ozone_decay"))
	normal := w.number(basis.WaterTemperatureK, basisRef("water_temperature"))
	cold, warm := w.waterTemperatures(at)
	air := w.media().atmosphere
	size, rate := w.contactData(v)
	volume := w.number(size, specRef(v, "volume"))
	kla := w.number(rate, specRef(v, "mass_transfer_coefficient"))
	inputs := [...]*Number{&s.ozone, &s.gas, &s.water, &s.pressure, &s.purity, &demand, &decay, &normal, &cold, &warm, &air, &volume, &kla}
	var missing []Ref
	for _, n := range inputs {
		missing = joinRefs(missing, lacking(*n))
	}
	lost := func(refs []Ref) *vesselDose {
		d.transferred = Number{Low: 0, High: max(0, s.ozone.High), Missing: refs}
		d.share = Number{Low: 0, High: 1, Missing: refs}
		d.residual = Number{Low: 0, High: math.Inf(1), Missing: refs}
		return d
	}
	if len(missing) > 0 {
		return lost(missing)
	}
	var assumed []Ref
	for _, n := range inputs {
		assumed = joinRefs(assumed, n.Assumed)
	}
	share, residual := math.Inf(1), math.Inf(1)
	for _, t := range [2]float64{cold.Low, warm.High} {
		end := residualAt{t, math.Inf(1)}
		for _, water := range [2]float64{s.water.Low, s.water.High} {
			r := w.contactOf(contactPoint{
				ozone: s.ozone.Low, gas: s.gas.Low, purity: s.purity.Low, water: water, t: t, pressure: s.pressure.Low + air.Low, air: air.Low,
				volume: volume.Low, kla: kla.Low, demand: demand.High, decay: decay.High, normal: normal.Low,
			})
			if r.err != nil {
				return lost([]Ref{elementRef(v)})
			}
			share, end.residual = min(share, r.share), min(end.residual, r.residual)
		}
		residual = min(residual, end.residual)
		d.ends = append(d.ends, end)
	}
	d.share, d.residual = settle(share, 1, assumed), settle(residual, math.Inf(1), assumed)
	d.transferred = settle(share*s.ozone.Low, s.ozone.High, assumed)
	return d
}

// contactData is the stated water volume and transfer coefficient of a vessel.
func (w *World) contactData(v int32) (volume, kla *float64) {
	switch s := w.data(v).GetSpec().(type) {
	case *skidrulev1.Component_ContactVessel:
		return s.ContactVessel.VolumeM3, s.ContactVessel.MassTransferCoefficientPerS
	case *skidrulev1.Component_ReactionVessel:
		return s.ReactionVessel.VolumeM3, s.ReactionVessel.MassTransferCoefficientPerS
	case *skidrulev1.Component_DegassingVessel:
		return s.DegassingVessel.VolumeM3, s.DegassingVessel.MassTransferCoefficientPerS
	case *skidrulev1.Component_OpenTank:
		return s.OpenTank.VolumeM3, s.OpenTank.MassTransferCoefficientPerS
	}
	return nil, nil
}

// contactPoint is one set of values for the contact model, SI, absolute pressures.
type contactPoint struct {
	ozone, gas, purity, water, t, pressure, air, volume, kla, demand, decay, normal float64
}

// contactAnswer is what the contact model says of a point, at its low ends.
type contactAnswer struct {
	share, residual float64
	err             error
}

func (w *World) contactOf(p contactPoint) contactAnswer {
	return w.sizing.contact.of(p, func() contactAnswer {
		r, err := w.contactAt(p)
		return contactAnswer{r.Efficiency.Low, r.Residual.Low, err}
	})
}

// contactWater is the water of the contact model at one temperature; nil where it holds for no water of that temperature.
func (w *World) contactWater(t float64) *unitop.ContactWater {
	return w.sizing.contactWater.of(t, func() *unitop.ContactWater {
		water, err := unitop.NewContactWater(t)
		if err != nil {
			return nil
		}
		return water
	})
}

// errContactTemperature says that the contact model holds for no water of a temperature.
var errContactTemperature = errors.New("water temperature outside the contact model")

// decayEnergy is the range in J/mol by which the decay of ozone in water moves with temperature; see [fluid.DemandFreeDecay].
var decayEnergy = fluid.DemandFreeDecay().ActivationEnergy

// contactAt runs the contact model of a stirred vessel. The water is taken to come saturated with air.
func (w *World) contactAt(p contactPoint) (unitop.ContactResult, error) {
	argon := min(1-p.purity, fluid.DryAir().Ar/fluid.DryAir().O2*p.purity)
	feed, err := fluid.DryOxygen(p.purity, argon)
	if err != nil {
		return unitop.ContactResult{}, err
	}
	// The power and the coolant play no part in the gas that is made.
	made, err := unitop.GeneratorAt(unitop.GeneratorInput{Feed: feed, Flow: p.gas, Power: 1e6}, fluid.Exact(p.ozone))
	if err != nil {
		return unitop.ContactResult{}, err
	}
	law := fluid.OzoneDecay{Rate: fluid.Exact(p.decay), Reference: p.normal, ActivationEnergy: decayEnergy}
	decay, err := law.At(p.t)
	if err != nil {
		return unitop.ContactResult{}, err
	}
	water := w.contactWater(p.t)
	if water == nil {
		return unitop.ContactResult{}, errContactTemperature
	}
	dissolved, err := water.AirSaturated(p.air)
	if err != nil {
		return unitop.ContactResult{}, err
	}
	return water.Transfer(unitop.ContactInput{
		Kind: unitop.StirredContact, Gas: made.Product, GasFlow: made.ProductFlow.Best, WaterFlow: p.water, Temperature: p.t,
		Pressure: p.pressure, Dissolved: dissolved, Volume: p.volume, KLa: fluid.Exact(p.kla), Demand: fluid.Exact(p.demand), Decay: decay,
	})
}

// ozoneWanted is the ozone in kg/s that has to dissolve into the main flow in a case.
func (w *World) ozoneWanted(at int32) Number {
	dose := w.number(w.Plant.Basis.TransferredDoseKgPerM3, basisRef("transferred_dose"))
	return dose.Mul(w.treatedFlow(at))
}

// doseOf is the dose of a vessel in a case; nil where no injector's water comes to it.
func (w *World) doseOf(v, at int32) *vesselDose { return w.doseCase(at).vessel.of(v) }

// contactTime is the time in s that all but a tenth of the water stays in a vessel at the highest flow through it.
func (w *World) contactTime(v, at int32) Number {
	if d := w.doseOf(v, at); d != nil {
		return d.time
	}
	return Missing(elementRef(v))
}

func (w *World) findContactTime(v int32, d *vesselDose) Number {
	var volume, ratio *float64
	if c := w.data(v).GetContactVessel(); c != nil {
		volume, ratio = c.VolumeM3, c.ShortCircuitRatio
	} else if c := w.data(v).GetReactionVessel(); c != nil {
		volume, ratio = c.VolumeM3, c.ShortCircuitRatio
	}
	size, share := w.number(volume, specRef(v, "volume")), w.number(ratio, specRef(v, "short_circuit"))
	if refs := lacking(size, share, d.water); len(refs) > 0 {
		return Number{Low: 0, High: math.Inf(1), Missing: refs}
	}
	t, err := unitop.T10(size.Low, d.water.High, fluid.Exact(share.Low))
	if err != nil {
		return Number{Low: 0, High: math.Inf(1), Missing: []Ref{specRef(v, "short_circuit")}}
	}
	kind, err := unitop.T10(size.High, d.water.Low, fluid.Exact(share.High))
	if err != nil {
		kind.High = math.Inf(1)
	}
	return settle(t.Low, kind.High, JoinRefs(size.Assumed, share.Assumed, d.water.Assumed))
}

// exposure is the least residual times contact time in kg s/m3.
func (w *World) exposure(v, at int32) Number {
	d := w.doseOf(v, at)
	if d == nil {
		return Missing(elementRef(v))
	}
	return d.residual.Max(Exactly(0)).Mul(d.time)
}

// neutralPH is a pH inside the range for which the regulation's figures hold; they do not depend on it.
const neutralPH = 7

// inactivation is the least log inactivation of an organism over the ends of the water temperature.
func (w *World) inactivation(v, at int32, o unitop.Organism) Number {
	if d := w.doseOf(v, at); d != nil {
		return d.logs[slices.Index(organisms[:], o)]
	}
	return Number{Low: 0, High: math.Inf(1), Missing: []Ref{elementRef(v)}}
}

// ctPoint is what the inactivation of an organism depends on: K and kg s/m3.
type ctPoint struct {
	organism        unitop.Organism
	temperature, ct float64
}

// ctLog is the low end of the log inactivation; ok is false outside the tables.
type ctLog struct {
	low float64
	ok  bool
}

func (w *World) findInactivation(d *vesselDose, o unitop.Organism) Number {
	open := func(refs []Ref) Number { return Number{Low: 0, High: math.Inf(1), Missing: refs} }
	if refs := JoinRefs(lacking(d.time), d.residual.Missing); len(refs) > 0 {
		return open(refs)
	}
	least := math.Inf(1)
	for _, end := range d.ends {
		p := ctPoint{o, end.temperature, max(0, end.residual) * d.time.Low}
		a := w.sizing.logs.of(p, func() ctLog {
			in, err := unitop.LogInactivation(o, p.temperature, neutralPH, fluid.Exact(p.ct))
			return ctLog{in.Binding.Low, err == nil}
		})
		if !a.ok {
			return open([]Ref{basisRef("max_water_temperature")})
		}
		least = min(least, a.low)
	}
	return settle(least, math.Inf(1), JoinRefs(d.residual.Assumed, d.time.Assumed))
}

// ozoneWay is the way of the gas through the generator with the least output over its rating: from its first source, by the
// cells, to its first injector.
func (w *World) ozoneWay(at int32) Path {
	worst, least := int32(-1), math.Inf(1)
	for _, t := range w.termsOf(at).output {
		g := t.component
		share := t.amount.Low / w.data(g).GetOzoneGenerator().GetRatedOutputKgPerS()
		if worst < 0 || share < least {
			worst, least = g, share
		}
	}
	if worst < 0 {
		return nil
	}
	gas := w.gasNet().of.of(worst)
	start := w.Plant.PortByTrait(worst, 0)
	var arcs []int32
	if len(gas.from) > 0 && len(gas.from[0]) > 0 {
		arcs = append(arcs, gas.from[0]...)
		start = w.Graph().From(arcs[0])
	}
	for _, way := range w.passages(worst) {
		if w.Plant.Ways[way].From == w.Plant.PortByTrait(worst, 0) {
			arcs = append(arcs, 2*way)
		}
	}
	if len(gas.toward) > 0 {
		arcs = append(arcs, gas.toward[0]...)
	}
	return w.wayPath(start, arcs, nil)
}
