package draft

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// plan is a draft in numbers, SI units, pressures gauge unless the name says otherwise.
type plan struct {
	demand   *demand
	circuit  skidrulev1.DraftCircuit
	feed     skidrulev1.DraftFeed
	pumped   bool
	reasons  []string
	sizes    []*skidrulev1.DraftSize
	assumed  []assumption
	refusals refusals

	airDissolves     bool
	dose             float64 // kg/m3 of the treated flow
	doseFound        bool
	uses, decay      float64 // demand in kg/m3 and decay in 1/s at the normal temperature, adverse ends
	hasUse, hasDecay bool
	time             float64 // s, mean residence time
	wanted           float64 // kg/s that have to dissolve
	strength         spread
	gas              fluid.Gas // with ozone
	output           float64   // kg/s of ozone that the generator has to make, spare included
	gasFlow          float64   // mol/s
	share            float64   // transferred over applied
	motive           float64   // m3/s through the injector
	takes            float64   // m3/s that the picked injector takes; 0 where none is picked
	volume           float64   // m3 of the contact volume
	diameter, height float64   // m of the contact volume
	vessel           float64   // Pa in the gas space in normal operation
	vesselHigh       float64   // Pa in the gas space at the highest
	outlet, inlet    float64   // Pa at the injector
	head             float64   // Pa of the pump
	npsh             float64   // m available at the pump
	highest          float64   // Pa anywhere in the water
	ventBore         float64   // m
	burst            float64   // mol/s through the open vent
	blows            float64   // mol/s that the picked blower is rated for; 0 where none is picked
	pot, potHeight   float64   // m
	heater           float64   // W of the destruct
	degas            float64   // m3
	waterBore        bore
	mainBore         bore
	gasBore          bore
	offGasBore       bore
}

// assumption is one entry of the assumptions of the design.
type assumption struct {
	path      string
	low, high float64
	dimension quantity.Dimension
	reason    string
}

// size adds a computed number to the answer.
func (p *plan) size(label string, x float64, d quantity.Dimension, how, source string) {
	p.keep(&skidrulev1.DraftSize{Label: label, Dimension: d.Name(), Value: x, How: how, Source: source})
}

// keep adds a size, in place of one of the same name, as where a picked part changes what follows from it.
func (p *plan) keep(size *skidrulev1.DraftSize) {
	for i, s := range p.sizes {
		if s.Label == size.Label {
			p.sizes[i] = size
			return
		}
	}
	p.sizes = append(p.sizes, size)
}

// stand adds an assumption of the design, in place of one about the same datum.
func (p *plan) stand(a assumption) {
	for i := range p.assumed {
		if p.assumed[i].path == a.path {
			p.assumed[i] = a
			return
		}
	}
	p.assumed = append(p.assumed, a)
}

// assume adds a number of common practice to the answer.
func (p *plan) assume(label string, s spread, d quantity.Dimension) float64 {
	p.keep(&skidrulev1.DraftSize{Label: label, Dimension: d.Name(), Value: s.best, Low: &s.low, High: &s.high, How: "assumed", Source: s.source})
	return s.best
}

// assumeHigh is assume for what is adverse when it is high: the high end is counted on.
func (p *plan) assumeHigh(label string, s spread, d quantity.Dimension) float64 {
	p.keep(&skidrulev1.DraftSize{Label: label, Dimension: d.Name(), Value: s.high, Low: &s.low, High: &s.high, How: "assumed; the high end is the adverse one", Source: s.source})
	return s.high
}

// scheme makes the plan of a demand.
func scheme(d *demand) (*plan, error) {
	p := &plan{demand: d}
	p.chooseCircuit()
	steps := []func() error{p.findWater, p.findDose, p.findPressures, p.findStream, p.findMotive, p.findVessels, p.findOffGas, p.findLines}
	for _, step := range steps {
		if err := step(); err != nil {
			return nil, err
		}
		if err := p.refusals.Err(); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// findWater takes demand and decay of the water as far as they are known.
func (p *plan) findWater() error {
	b := p.demand.basis
	p.hasUse, p.hasDecay = b.OzoneDemandKgPerM3 != nil, b.OzoneDecayPerS != nil
	p.uses, p.decay = or(b.OzoneDemandKgPerM3, 0), or(b.OzoneDecayPerS, 0)
	if len(p.demand.targets) == 0 {
		return nil
	}
	if !p.hasUse {
		p.uses, p.hasUse = p.assumeHigh("ozone that the water uses up at once", assumedDemand, quantity.MassConcentration), true
		p.stand(assumption{"basis.ozone_demand", assumedDemand.low, assumedDemand.high, quantity.MassConcentration, "clean water; " + assumedDemand.source + "; measure it"})
	}
	if !p.hasDecay {
		p.decay, p.hasDecay = p.assumeHigh("decay of dissolved ozone", assumedDecay, quantity.Rate), true
		p.stand(assumption{"basis.ozone_decay", assumedDecay.low, assumedDecay.high, quantity.Rate, "clean water; " + assumedDecay.source + "; measure it"})
	}
	return nil
}

// baffling is T10 over the mean residence time that the sizing counts on.
func (p *plan) baffling() spread {
	if p.circuit == tank {
		return tankBaffling
	}
	return vesselBaffling
}

// findDose finds the dose where a target is asked for, and the time that it takes.
func (p *plan) findDose() error {
	d := p.demand
	p.time = p.assume("mean residence time for dissolving", transferTime, quantity.Duration)
	residual := or(d.basis.TargetResidualKgPerM3, 0)
	if len(d.targets) == 0 {
		p.dose = *d.dose
		p.size("dose to be transferred", p.dose, quantity.MassConcentration, "as demanded", "the demand")
		p.wanted = p.dose * d.most
		return nil
	}
	beta := p.assume("T10 over mean residence time", p.baffling(), quantity.Ratio)
	for _, t := range []float64{d.cold, d.warm} {
		ct, name, err := needed(d.targets, t)
		if err != nil {
			return err
		}
		decay, err := decayAt(p.decay, d.normal, t)
		if err != nil {
			return err
		}
		p.size("CT for "+name+" at "+say(t, quantity.Temperature), ct, quantity.Exposure, "table or equation of the target, the binding one", "US EPA 815-R-20-003 (2020), equations 4-4 to 4-7, and the tables of 40 CFR 141.74")
		if d.dose == nil {
			// The residual is given: T10 = CT/C, and the dose makes up for what the water uses and what decays.
			p.time = max(p.time, ct/residual/beta)
			continue
		}
		// The dose is given. C = (dose - use)/(1 + k T) falls with time, C beta T rises with it, to (dose - use) beta/k at the most.
		left := *d.dose - p.uses
		if left <= 0 || decay.High > 0 && left*beta/decay.High <= ct*1.05 {
			p.refusals.add("basis.transferred_dose", fmt.Sprintf("a dose of %s, of which %s is used up at once, reaches no CT of %s for %s at %s however long the water stays",
				say(*d.dose, quantity.MassConcentration), say(p.uses, quantity.MassConcentration), say(ct, quantity.Exposure), name, say(t, quantity.Temperature)),
				"raise it above "+say(p.uses+1.2*ct*decay.High/beta, quantity.MassConcentration)+", or state the ozone demand and the decay as measured")
			return nil
		}
		p.time = max(p.time, ct/(left*beta-ct*decay.High))
	}
	fast, err := decayAt(p.decay, d.normal, d.warm)
	if err != nil {
		return err
	}
	lost := 1 + fast.High*p.time
	if d.dose != nil {
		p.dose = *d.dose
		p.size("dose to be transferred", p.dose, quantity.MassConcentration, "as demanded", "the demand")
		if left := (p.dose - p.uses) / lost; left < residual {
			p.refusals.add("basis.transferred_dose", fmt.Sprintf("a dose of %s leaves %s after %s in the warmest water, and %s is wanted", say(p.dose, quantity.MassConcentration),
				say(left, quantity.MassConcentration), say(p.time, quantity.Duration), say(residual, quantity.MassConcentration)),
				"raise it to "+say(p.uses+residual*lost, quantity.MassConcentration)+", or state a smaller residual")
			return nil
		}
	} else {
		p.dose, p.doseFound = significant(p.uses+residual*lost), true
		p.size("dose to be transferred", p.dose, quantity.MassConcentration, "use + residual (1 + k T) in the warmest water, stirred, rounded up", "balance of a stirred vessel with first-order decay")
	}
	p.size("mean residence time", p.time, quantity.Duration, "the longest of dissolving and CT/(C T10/T)", "definition of CT and T10")
	p.wanted = p.dose * d.most
	return nil
}

// findPressures finds what the vessel stands under.
func (p *plan) findPressures() error {
	d := p.demand
	rho, err := fluid.WaterDensity(d.normal, d.air)
	if err != nil {
		return err
	}
	switch p.circuit {
	case tank:
		p.vessel, p.vesselHigh = 0, 0
		p.outlet = rho*unitop.StandardGravity*1.2 + mixerLoss.best
	default:
		// Lines and valves behind the vessel take about 0.05 bar; the gas space stands above the return by the water column.
		const behind, column = 0.05e5, 1.75
		p.vessel = max(0, d.back.normal+behind-rho*unitop.StandardGravity*column)
		p.vesselHigh = max(p.vessel, d.back.high)
		p.outlet = p.vessel + rho*unitop.StandardGravity*1.35 + p.assume("loss behind the injector", mixerLoss, quantity.PressureDifference)
	}
	p.size("pressure in the gas space", p.vessel, quantity.PressureGauge, "return + lines (0.05 bar) - water column (1.75 m); atmosphere in a tank", "hydrostatics; loss: "+practice)
	p.size("injector outlet pressure", p.outlet, quantity.PressureGauge, "gas space + water column + loss", "hydrostatics")
	p.inlet = max(p.assume("lowest motive pressure", leastInlet, quantity.PressureGauge), p.outlet/p.assume("outlet over inlet pressure of the injector", outletRatio, quantity.Ratio))
	p.size("injector inlet pressure", p.inlet, quantity.PressureGauge, "outlet over the ratio, not below the lowest", practice)
	supply := d.supply.low
	if p.circuit == tank {
		supply = 0
	}
	p.head = p.inlet - supply + rho*unitop.StandardGravity*0.4 + 0.1e5
	switch {
	case !p.pumped && p.circuit == tank:
		p.refusals.add("no_pump", "the loop round a tank needs a pump", "leave it out, or state a supply pressure above "+say(gravityPressure, quantity.PressureGauge))
		return nil
	case !p.pumped && p.head > 0:
		why := "the injector needs %s at its inlet against an outlet of %s, and the supply gives %s"
		if d.back.normal >= d.supply.normal {
			why = "water does not flow from a lower to a higher pressure: " + why
		}
		p.refusals.add("no_pump", fmt.Sprintf(why, say(p.inlet, quantity.PressureGauge), say(p.outlet, quantity.PressureGauge), say(supply, quantity.PressureGauge)),
			"leave it out, so that a pump is drawn, or raise the supply to "+say(supply+p.head, quantity.PressureGauge)+", or lower the return")
		return nil
	case p.pumped && p.head < 0.2e5:
		p.pumped = false
		p.reason("No pump after all: the supply of %s is enough for the injector.", say(supply, quantity.PressureGauge))
	}
	if p.pumped {
		p.assume("pressure of the pump at no flow over that at its duty", shutOffShare, quantity.Ratio)
	} else {
		p.head = 0
		// What the supply has beyond the need comes to the injector too.
		p.inlet = max(p.inlet, d.supply.normal-rho*unitop.StandardGravity*0.4-0.1e5)
		p.size("injector inlet pressure", p.inlet, quantity.PressureGauge, "supply - rise (0.4 m) - lines (0.1 bar)", "hydrostatics; loss: "+practice)
	}
	if p.circuit == tank {
		p.highest = shutOffShare.best*p.head + 0.3e5
	} else {
		p.highest = max(d.supply.high+shutOffShare.best*p.head, d.back.high, d.supply.high)
		// With the outlet blocked the vessel stands under all that supply and pump can bring.
		p.vesselHigh = p.highest
	}
	p.size("highest water pressure", p.highest, quantity.PressureGauge, "supply + pump at no flow, or return", "pump at no flow: "+practice)
	if p.highest > 14e5 {
		p.refusals.add("return_pressure", "the highest water pressure would be "+say(p.highest, quantity.PressureGauge)+", which the flanges of PN 16 do not bear with a margin",
			"lower supply and return, or let a pressure-reducing valve stand before the plant")
	}
	return nil
}

// strengthOf is the ozone in the gas of a feed.
func strengthOf(f skidrulev1.DraftFeed) (strength spread, purity float64) {
	switch f {
	case driedAir:
		return airStrength, fluid.DryAir().O2
	case storedOxygen:
		return oxygenStrength, storedPurity.best
	}
	return oxygenStrength, oxygenPurity.best
}

// tryStream sizes the contact of a stream with a feed, and reports whether it takes the ozone.
func (p *plan) tryStream(f skidrulev1.DraftFeed, water, time float64) (a contactAnswer, gasToLiquidRatio float64, ok bool, err error) {
	d := p.demand
	strength, purity := strengthOf(f)
	dry, err := feedGas(purity)
	if err != nil {
		return a, 0, false, err
	}
	gas, err := dry.WithOzone(strength.best)
	if err != nil {
		return a, 0, false, err
	}
	baffled := water * time
	var worst contactAnswer
	worst.share = 2
	full := math.Inf(1)
	for _, t := range []float64{d.cold, d.warm} {
		decay, err := decayAt(p.decay, d.normal, t)
		if err != nil {
			return a, 0, false, err
		}
		one, err := contact(contactPoint{gas: gas, wanted: p.wanted, water: water, volume: baffled, temperature: t, pressure: p.vessel + d.air, air: d.air, demand: p.uses, decay: decay.High})
		if err != nil {
			return a, 0, false, err
		}
		full = min(full, one.full.Low)
		if one.share < worst.share {
			worst = one
		}
	}
	worst.full = fluid.Exact(full)
	volume, err := fluid.VolumeFlow(worst.gasFlow, d.warm, p.outlet+d.air)
	if err != nil {
		return a, 0, false, err
	}
	limit := or(d.basis.MaxGasToLiquidRatio, gasToLiquid.best)
	ratio := volume / water
	ok = worst.share >= leastTransfer.best && ratio <= limit && p.wanted/water <= saturationShare.best*full
	return worst, ratio, ok, nil
}

// findStream finds the water that takes the ozone, the feed and the output of the generator.
func (p *plan) findStream() error {
	d := p.demand
	shares := []float64{0.06, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.32, 0.4, 0.5, 0.64, 0.8, 1}
	switch p.circuit {
	case fullFlow:
		shares = []float64{1}
	case tank:
		shares = shares[5:]
	}
	whole := d.most
	try := func(f skidrulev1.DraftFeed) (contactAnswer, float64, float64, float64, error) {
		for _, s := range shares {
			water := s * whole
			time, ok, err := p.holdFor(water)
			if err != nil {
				return contactAnswer{}, 0, 0, 0, err
			}
			if !ok {
				continue
			}
			a, ratio, ok, err := p.tryStream(f, water, time)
			if err != nil {
				return contactAnswer{}, 0, 0, 0, err
			}
			if ok {
				return a, water, time, ratio, nil
			}
		}
		return contactAnswer{}, 0, 0, 0, nil
	}
	small := p.wanted / (0.9 * (1 - outputSpare.best))
	if d.GetFeed() == skidrulev1.DraftFeed_DRAFT_FEED_UNSPECIFIED && small*3.6e6 <= largestAir {
		_, water, _, _, err := try(driedAir)
		if err != nil {
			return err
		}
		p.airDissolves = water > 0
	}
	before := len(p.reasons)
	p.chooseFeed(small)
	a, water, time, ratio, err := try(p.feed)
	if err != nil {
		return err
	}
	if water > 0 && p.feed == concentrator && d.GetFeed() == skidrulev1.DraftFeed_DRAFT_FEED_UNSPECIFIED && a.output/(1-outputSpare.best)*3.6e6 > largestDrawn {
		p.reasons = p.reasons[:before]
		p.chooseFeed(a.output / (1 - outputSpare.best))
		if a, water, time, ratio, err = try(p.feed); err != nil {
			return err
		}
	}
	if water == 0 {
		return p.refuseStream(shares[len(shares)-1] * whole)
	}
	var purity float64
	p.strength, purity = strengthOf(p.feed)
	dry, err := feedGas(purity)
	if err != nil {
		return err
	}
	if p.gas, err = dry.WithOzone(p.strength.best); err != nil {
		return err
	}
	p.assume("ozone in the gas", p.strength, quantity.MassFraction)
	p.assume("share that has to dissolve at the least", leastTransfer, quantity.Ratio)
	p.assume("dissolved ozone over saturation at the most", saturationShare, quantity.Ratio)
	if d.basis.MaxGasToLiquidRatio == nil {
		p.assume("gas over water at the most", gasToLiquid, quantity.Ratio)
	}
	p.assume("overall kLa of ozone", transferRate, quantity.Rate)
	spare := p.assume("output kept for wear and warm cooling", outputSpare, quantity.Ratio)
	p.motive, p.time, p.share = water, time, a.share
	p.output, p.gasFlow = a.output/(1-spare), a.gasFlow/(1-spare)
	p.size("ozone to be dissolved", p.wanted, quantity.MassFlow, "dose x highest flow", "balance")
	p.size("water through the injector", p.motive, quantity.LiquidFlow, "the least stream that takes the ozone with enough transfer, below the gas-to-liquid ratio and well below saturation", "two-film model of a stirred vessel, Henry's law; the limits: "+practice)
	p.size("mean residence time held", p.time, quantity.Duration, "the longest of dissolving, CT, and decay to what may go back", "definition of the mean residence time, first-order decay")
	p.size("share that dissolves", p.share, quantity.Ratio, "stirred contact at the low transfer coefficient, the worse of coldest and warmest water", "Whitman's two-film model with Henry's law")
	p.size("output of the generator", p.output, quantity.MassFlow, "ozone to be dissolved / share that dissolves / (1 - spare)", "balance")
	p.size("gas flow", p.gasFlow, quantity.GasFlow, "output / ozone in the gas / molar mass", "balance")
	p.size("gas over water at the injector outlet", ratio, quantity.Ratio, "actual gas volume at outlet pressure and warmest water / water", "ideal gas")
	return nil
}

// holdFor is the mean residence time for which a stream is held: as long as dissolving and CT take, and in a side stream so
// long that what goes back is no more than the demand bears. It reports false where that would take too long.
func (p *plan) holdFor(water float64) (time float64, ok bool, err error) {
	d := p.demand
	most := d.basis.MaxResidualKgPerM3
	if p.circuit != sideStream || most == nil || !p.hasDecay || !p.hasUse {
		return p.time, true, nil
	}
	slow, err := decayAt(p.decay, d.normal, d.cold)
	if err != nil {
		return 0, false, err
	}
	left := p.wanted/water/(1-outputSpare.best) - p.uses
	if left <= *most {
		return p.time, true, nil
	}
	if slow.Low <= 0 {
		return 0, false, nil
	}
	time = max(p.time, (left / *most - 1)/slow.Low)
	return time, time <= longestTime.best, nil
}

// refuseStream says why no stream takes the ozone, and what would.
func (p *plan) refuseStream(water float64) error {
	d := p.demand
	a, ratio, _, err := p.tryStream(p.feed, water, p.time)
	if err != nil {
		return err
	}
	reach := saturationShare.best * a.full.Low
	asked := p.wanted / water
	where := fmt.Sprintf("in all of the water, at %s and %s in the gas space", say(d.warm, quantity.Temperature), say(p.vessel, quantity.PressureGauge))
	path := "basis.transferred_dose"
	if p.doseFound {
		path = "basis.target_residual"
	}
	limit := or(d.basis.MaxGasToLiquidRatio, gasToLiquid.best)
	switch {
	case asked > reach:
		p.refusals.add(path, fmt.Sprintf("a dose of %s is above what dissolves: the gas could dissolve %s %s, and drafts count on %.0f %% of it",
			say(p.dose, quantity.MassConcentration), say(a.full.Low, quantity.MassConcentration), where, 100*saturationShare.best),
			"ask for at most "+say(reach*water/d.most, quantity.MassConcentration)+", raise the return pressure, cool the water, or choose oxygen in place of air")
	case ratio > limit:
		p.refusals.add(path, fmt.Sprintf("a dose of %s brings %.3g volumes of gas to one of water, above the ratio of %.3g", say(p.dose, quantity.MassConcentration), ratio, limit),
			"ask for less, raise the return pressure, or choose oxygen in place of air")
	case a.share < leastTransfer.best:
		p.refusals.add(path, fmt.Sprintf("of the ozone only %.0f %% dissolves %s, and drafts want %.0f %%", 100*a.share, where, 100*leastTransfer.best),
			"ask for less, raise the return pressure, or choose oxygen in place of air")
	default:
		p.refusals.add("basis.max_residual", fmt.Sprintf("no side stream lets its ozone decay to %s within %s", say(or(d.basis.MaxResidualKgPerM3, 0), quantity.MassConcentration), say(longestTime.best, quantity.Duration)),
			"state what the process bears where the side stream meets the main, which dilutes it, or a smaller dose")
	}
	return nil
}
