package draft

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// demand is a checked demand in SI units, pressures gauge.
type demand struct {
	*skidrulev1.DraftDemand
	basis *skidrulev1.Basis
	// air is the atmospheric pressure in Pa, lowest for what has to dissolve.
	air float64
	// cold, normal and warm are water temperatures in K.
	cold, normal, warm float64
	// least, mean and most are flows of water in m3/s.
	least, mean, most float64
	supply, back      pressureSpan
	// targets are the log inactivations that are asked for.
	targets []target
	dose    *float64 // kg/m3; nil where it follows from the targets
}

// pressureSpan is a pressure at an edge of the drawing in Pa gauge, as far as it is known.
type pressureSpan struct{ low, normal, high float64 }

// target is a wanted log10 inactivation of an organism.
type target struct {
	organism unitop.Organism
	log      float64
	name     string
}

// refusals gathers everything that is wrong with a demand.
type refusals struct{ engine.RequestError }

func (r *refusals) add(path, message, suggestion string) {
	r.Add("demand."+path, suggestion, "%s", message)
}

// say spells a value for people.
func say(x float64, d quantity.Dimension) string { return quantity.Format(x, d, quantity.Metric) }

// within refuses a value that is not finite or not in a range.
func (r *refusals) within(path string, x *float64, low, high float64, d quantity.Dimension) {
	if x != nil && (math.IsNaN(*x) || *x < low || *x > high) {
		r.add(path, say(*x, d)+" is outside what drafts are drawn for", fmt.Sprintf("state %s to %s", say(low, d), say(high, d)))
	}
}

// ordered refuses a low end above a high one.
func (r *refusals) ordered(low *float64, lowPath string, high *float64, highPath string, d quantity.Dimension) {
	if low != nil && high != nil && *low > *high {
		r.add(lowPath, fmt.Sprintf("%s is above %s of %s", say(*low, d), say(*high, d), highPath), "exchange them")
	}
}

// readDemand checks a demand and names everything that is wrong with it at once.
func readDemand(m *skidrulev1.DraftDemand) (*demand, error) {
	var r refusals
	if m == nil {
		return nil, engine.Refuse("demand", "state the flow, the temperature, a dose or a target, both pressures and the altitude", "the request has no demand")
	}
	b := m.GetBasis()
	if b == nil {
		b = &skidrulev1.Basis{}
	}
	r.stated(m, b)
	r.ranges(m, b)
	r.orders(m, b)
	d := &demand{DraftDemand: m, basis: b, dose: b.TransferredDoseKgPerM3}
	d.aim(&r)
	if err := r.Err(); err != nil {
		return nil, err
	}
	if err := d.derive(); err != nil {
		return nil, err
	}
	return d, nil
}

// stated refuses a demand without what every draft needs.
func (r *refusals) stated(m *skidrulev1.DraftDemand, b *skidrulev1.Basis) {
	need := func(path, what string, x *float64) {
		if x == nil {
			r.add(path, what+" is not stated", "every draft needs it")
		}
	}
	need("basis.treated_flow", "the water flow", b.TreatedFlowM3PerS)
	need("basis.water_temperature", "the normal water temperature", b.WaterTemperatureK)
	need("supply_pressure", "the pressure at which the water comes", m.SupplyPressurePaGauge)
	need("return_pressure", "the pressure against which the water leaves", m.ReturnPressurePaGauge)
	if b.AltitudeM == nil && b.AtmosphericPressurePaAbs == nil {
		r.add("basis.altitude", "neither the altitude nor the atmospheric pressure is stated", "every draft needs one of them: gas is drawn against it")
	}
}

// ranges refuses what lies outside the range that drafts are made for.
func (r *refusals) ranges(m *skidrulev1.DraftDemand, b *skidrulev1.Basis) {
	m3h := 1 / 3600.0
	r.within("basis.treated_flow", b.TreatedFlowM3PerS, 0.1*m3h, maxDraftFlow*m3h, quantity.LiquidFlow)
	r.within("basis.min_treated_flow", b.MinTreatedFlowM3PerS, 0.01*m3h, maxDraftFlow*m3h, quantity.LiquidFlow)
	r.within("basis.max_treated_flow", b.MaxTreatedFlowM3PerS, 0.1*m3h, maxDraftFlow*m3h, quantity.LiquidFlow)
	for _, t := range []struct {
		path string
		x    *float64
	}{{"basis.min_water_temperature", b.MinWaterTemperatureK}, {"basis.water_temperature", b.WaterTemperatureK}, {"basis.max_water_temperature", b.MaxWaterTemperatureK}} {
		// Between the freezing point and where the equations of inactivation end.
		r.within(t.path, t.x, 273.15, 303.15, quantity.Temperature)
	}
	r.within("basis.altitude", b.AltitudeM, -400, 4000, quantity.Length)
	r.within("basis.atmospheric_pressure", b.AtmosphericPressurePaAbs, 0.6e5, 1.1e5, quantity.PressureAbsolute)
	r.within("basis.transferred_dose", b.TransferredDoseKgPerM3, 1e-6, 0.05, quantity.MassConcentration)
	r.within("basis.ozone_demand", b.OzoneDemandKgPerM3, 0, 0.05, quantity.MassConcentration)
	r.within("basis.ozone_decay", b.OzoneDecayPerS, 0, 1, quantity.Rate)
	r.within("basis.target_residual", b.TargetResidualKgPerM3, 0, 0.02, quantity.MassConcentration)
	r.within("basis.max_gas_to_liquid", b.MaxGasToLiquidRatio, 0.001, 2, quantity.Ratio)
	for _, p := range []struct {
		path string
		x    *float64
	}{
		{"supply_pressure", m.SupplyPressurePaGauge}, {"min_supply_pressure", m.MinSupplyPressurePaGauge}, {"max_supply_pressure", m.MaxSupplyPressurePaGauge},
		{"return_pressure", m.ReturnPressurePaGauge}, {"min_return_pressure", m.MinReturnPressurePaGauge}, {"max_return_pressure", m.MaxReturnPressurePaGauge},
	} {
		r.within(p.path, p.x, 0, highestPressure, quantity.PressureGauge)
	}
}

// orders refuses a lowest value above a normal one, that above a highest, and words that are none.
func (r *refusals) orders(m *skidrulev1.DraftDemand, b *skidrulev1.Basis) {
	r.ordered(b.MinTreatedFlowM3PerS, "basis.min_treated_flow", b.TreatedFlowM3PerS, "basis.treated_flow", quantity.LiquidFlow)
	r.ordered(b.TreatedFlowM3PerS, "basis.treated_flow", b.MaxTreatedFlowM3PerS, "basis.max_treated_flow", quantity.LiquidFlow)
	r.ordered(b.MinWaterTemperatureK, "basis.min_water_temperature", b.WaterTemperatureK, "basis.water_temperature", quantity.Temperature)
	r.ordered(b.WaterTemperatureK, "basis.water_temperature", b.MaxWaterTemperatureK, "basis.max_water_temperature", quantity.Temperature)
	r.ordered(m.MinSupplyPressurePaGauge, "min_supply_pressure", m.SupplyPressurePaGauge, "supply_pressure", quantity.PressureGauge)
	r.ordered(m.SupplyPressurePaGauge, "supply_pressure", m.MaxSupplyPressurePaGauge, "max_supply_pressure", quantity.PressureGauge)
	r.ordered(m.MinReturnPressurePaGauge, "min_return_pressure", m.ReturnPressurePaGauge, "return_pressure", quantity.PressureGauge)
	r.ordered(m.ReturnPressurePaGauge, "return_pressure", m.MaxReturnPressurePaGauge, "max_return_pressure", quantity.PressureGauge)
	if _, ok := skidrulev1.DraftCircuit_name[int32(m.GetCircuit())]; !ok {
		r.add("circuit", fmt.Sprintf("there is no circuit %d", m.GetCircuit()), "leave it out, and the demand chooses")
	}
	if _, ok := skidrulev1.DraftFeed_name[int32(m.GetFeed())]; !ok {
		r.add("feed", fmt.Sprintf("there is no feed %d", m.GetFeed()), "leave it out, and the demand chooses")
	}
}

// aim reads the targets and refuses a demand from which no dose follows.
func (d *demand) aim(r *refusals) {
	m, b := d.DraftDemand, d.basis
	for _, t := range []struct {
		path     string
		x        *float64
		organism unitop.Organism
		name     string
		most     float64
	}{
		{"basis.target_log_giardia", b.TargetLogGiardiaRatio, unitop.Giardia, "Giardia", 3},
		{"basis.target_log_virus", b.TargetLogVirusRatio, unitop.Virus, "viruses", 4},
		{"basis.target_log_cryptosporidium", b.TargetLogCryptosporidiumRatio, unitop.Cryptosporidium, "Cryptosporidium", 3},
	} {
		// As far as the published tables and equations reach.
		r.within(t.path, t.x, 0, t.most, quantity.Ratio)
		if t.x != nil && *t.x > 0 {
			d.targets = append(d.targets, target{t.organism, *t.x, t.name})
		}
	}
	switch {
	case d.dose == nil && len(d.targets) == 0:
		r.add("basis.transferred_dose", "neither a dose nor a target inactivation is stated", "state the ozone that has to dissolve, or the log inactivation of an organism and the residual")
	case d.dose == nil && b.TargetResidualKgPerM3 == nil:
		r.add("basis.target_residual", "a target inactivation without a dose needs the residual that is wanted at the end of contact", "state it, for example 0.3 mg/L")
	case d.dose == nil && *b.TargetResidualKgPerM3 <= 0:
		r.add("basis.target_residual", "a residual of nothing inactivates nothing", "state it, for example 0.3 mg/L")
	}
	if d.dose != nil && b.OzoneDemandKgPerM3 != nil && b.TargetResidualKgPerM3 != nil && *d.dose < *b.OzoneDemandKgPerM3+*b.TargetResidualKgPerM3 && m.GetCircuit() == skidrulev1.DraftCircuit_DRAFT_CIRCUIT_FULL_FLOW {
		r.add("basis.transferred_dose", fmt.Sprintf("a dose of %s cannot leave %s in water that uses up %s at once", say(*d.dose, quantity.MassConcentration),
			say(*b.TargetResidualKgPerM3, quantity.MassConcentration), say(*b.OzoneDemandKgPerM3, quantity.MassConcentration)),
			"raise it above "+say(*b.OzoneDemandKgPerM3+*b.TargetResidualKgPerM3, quantity.MassConcentration))
	}
}

// derive fills in what follows from a demand that was not refused; what is not stated of a range is its normal value.
func (d *demand) derive() error {
	m, b := d.DraftDemand, d.basis
	d.mean = *b.TreatedFlowM3PerS
	d.least, d.most = or(b.MinTreatedFlowM3PerS, d.mean), or(b.MaxTreatedFlowM3PerS, d.mean)
	d.normal = *b.WaterTemperatureK
	d.cold, d.warm = or(b.MinWaterTemperatureK, d.normal), or(b.MaxWaterTemperatureK, d.normal)
	d.supply = spanOf(m.MinSupplyPressurePaGauge, *m.SupplyPressurePaGauge, m.MaxSupplyPressurePaGauge)
	d.back = spanOf(m.MinReturnPressurePaGauge, *m.ReturnPressurePaGauge, m.MaxReturnPressurePaGauge)
	if b.AtmosphericPressurePaAbs != nil {
		d.air = *b.AtmosphericPressurePaAbs
	} else {
		air, err := unitop.StandardAtmosphere(*b.AltitudeM)
		if err != nil {
			return err
		}
		d.air = air.Low
	}
	return nil
}

func or(x *float64, other float64) float64 {
	if x != nil {
		return *x
	}
	return other
}

func spanOf(low *float64, normal float64, high *float64) pressureSpan {
	return pressureSpan{or(low, normal), normal, or(high, normal)}
}
