package draft

import (
	"fmt"
	"math"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// want is what a datum of a part has to be for the draft to work. Bounds are in the wire unit of the datum.
type want struct {
	tag, key  string
	low, high float64 // -Inf and +Inf where there is none
	words     string  // in place of bounds, or beside them
	dimension quantity.Dimension
}

// say spells a want for people.
func (w want) say() string {
	var parts []string
	spell := func(x float64) string {
		if w.dimension == 0 {
			return trimmed(x, 2)
		}
		return say(x, w.dimension)
	}
	switch {
	case !math.IsInf(w.low, -1) && !math.IsInf(w.high, 1):
		parts = append(parts, spell(w.low)+" to "+spell(w.high))
	case !math.IsInf(w.low, -1):
		parts = append(parts, "at least "+spell(w.low))
	case !math.IsInf(w.high, 1):
		parts = append(parts, "at most "+spell(w.high))
	}
	if w.words != "" {
		parts = append(parts, w.words)
	}
	return strings.Join(parts, ", ")
}

// met tells whether an entry states what is wanted; what it does not state is not met.
func (w want) met(data *skidrulev1.Component) bool {
	if math.IsInf(w.low, -1) && math.IsInf(w.high, 1) {
		return true
	}
	x, ok := datum(data, w.key)
	return ok && x >= w.low*(1-1e-9) && x <= w.high*(1+1e-9) || ok && (w.low < 0 || w.high < 0) && x >= w.low && x <= w.high
}

// datum is a number that a component states under a key such as "pump.shut_off_head".
func datum(c *skidrulev1.Component, key string) (float64, bool) {
	if c == nil {
		return 0, false
	}
	f, err := designfile.FieldAt(&skidrulev1.Design{Components: []*skidrulev1.Component{tagged(c)}}, "components.X."+key)
	if err != nil {
		return 0, false
	}
	return f.Number()
}

// tagged gives a component a tag, so that paths lead to it; the data is shared.
func tagged(c *skidrulev1.Component) *skidrulev1.Component {
	return &skidrulev1.Component{Tag: "X", MaxPressurePaGauge: c.MaxPressurePaGauge, MinPressurePaGauge: c.MinPressurePaGauge,
		MinTemperatureK: c.MinTemperatureK, MaxTemperatureK: c.MaxTemperatureK, Spec: c.Spec}
}

// wants are what the data of the parts has to be. The first of a tag is the one by which parts are ranked.
func (p *plan) wants() []want {
	var all []want
	inf := math.Inf(1)
	atLeast := func(tag, key string, x float64, d quantity.Dimension) {
		all = append(all, want{tag: tag, key: key, low: x, high: inf, dimension: d})
	}
	atMost := func(tag, key string, x float64, d quantity.Dimension) {
		all = append(all, want{tag: tag, key: key, low: -inf, high: x, dimension: d})
	}
	words := func(tag, key, s string) {
		all = append(all, want{tag: tag, key: key, low: -inf, high: inf, words: s})
	}
	ambient := or(p.demand.basis.MaxAmbientTemperatureK, 308.15)
	gas := significant(p.gasFlow)
	// Generator
	atLeast("OG-1", "ozone_generator.rated_output", significant(p.output), quantity.MassFlow)
	atLeast("OG-1", "ozone_generator.rated_concentration", 0.8*p.strength.low, quantity.MassFraction)
	atMost("OG-1", "ozone_generator.min_flow", gas, quantity.GasFlow)
	words("OG-1", "ozone_generator.output", fmt.Sprintf("at least %s at %s and %s around the cells", say(significant(p.output), quantity.MassFlow), say(gas, quantity.GasFlow), say(ambient, quantity.Temperature)))
	words("PSU-1", "power_supply.rated_power", "at least the power of the cells")
	words("PSU-1", "power_supply.drives_cell_types", "names the type of the cells")
	// Feed
	switch p.feed {
	case concentrator:
		atLeast("OC-1", "oxygen_concentrator.rated_product_flow", p.gasFlow, quantity.GasFlow)
		atLeast("OC-1", "oxygen_concentrator.rated_purity", oxygenPurity.low, quantity.MoleFraction)
		words("OC-1", "oxygen_concentrator.product_dew_point", "-50 degC or below, as cells ask")
	case driedAir:
		words("AC-1", "compressor.curve", fmt.Sprintf("at least %s at 2 bar(g)", say(significant(1.5*p.gasFlow), quantity.GasFlow)))
		atLeast("DY-1", "gas_dryer.rated_flow", significant(1.1*p.gasFlow), quantity.GasFlow)
		words("DY-1", "gas_dryer.outlet_dew_point", "-50 degC or below, as cells ask")
		atLeast("AF-1", "gas_filter.rated_flow", significant(1.1*p.gasFlow), quantity.GasFlow)
	case storedOxygen:
		atLeast("OS-1", "gas_supply.purity", storedPurity.low, quantity.MoleFraction)
	}
	if p.feed != concentrator {
		words("PSV-1", "relief_valve.gas_capacity", "at least what the regulator passes when it fails open")
	}
	atLeast("GF-1", "gas_filter.rated_flow", significant(1.1*p.gasFlow), quantity.GasFlow)
	atLeast("FM-1", "flow_meter.gas_range_high", significant(1.3*p.gasFlow), quantity.GasFlow)
	// Barriers: with each taken as failed the others stand under the highest water pressure.
	atLeast("XV-1", "actuated_valve.reverse_shut_off_pressure", significant(p.highest), quantity.PressureDifference)
	for _, tag := range []string{"XV-1", "LT-1", "CV-1", "CV-2", "TE-3", "PS-1", "INJ-1"} {
		atLeast(tag, "max_pressure", significant(p.highest), quantity.PressureGauge)
		words(tag, "body_material", "resists ozone, as stainless steel 316 or PVDF")
		words(tag, "seat_material", "resists ozone, as PTFE")
		words(tag, "seal_material", "resists ozone, as FFKM or PTFE")
	}
	atLeast("LT-1", "liquid_trap.max_float_difference", significant(p.highest), quantity.PressureDifference)
	// Water
	words("INJ-1", "venturi_injector.performance", p.injectorWords())
	if p.pumped {
		words("P-1", "pump.curve", fmt.Sprintf("at least %s at %s, with less than %s of suction head", say(significant(p.head), quantity.PressureDifference), say(p.motive, quantity.LiquidFlow), say(p.npsh, quantity.Length)))
		atLeast("P-1", "pump.suction_rating", significant(p.demand.supply.high), quantity.PressureGauge)
		atLeast("P-1", "max_pressure", significant(p.highest), quantity.PressureGauge)
	}
	for _, tag := range []string{"HV-1", "FS-1", "TE-1", "PI-1", "TE-2", "PI-2", "MX-1", "HV-5", "HV-2", "TE-8", "AE-1"} {
		atLeast(tag, "max_pressure", significant(p.highest), quantity.PressureGauge)
	}
	switch p.circuit {
	case sideStream:
		atLeast("CT-1", "contact_vessel.volume", p.volume, quantity.Volume)
		atLeast("CT-1", "max_pressure", significant(p.highest), quantity.PressureGauge)
	case fullFlow:
		atLeast("RV-1", "reaction_vessel.volume", p.volume, quantity.Volume)
		atLeast("RV-1", "max_pressure", significant(p.highest), quantity.PressureGauge)
		atLeast("DV-1", "degassing_vessel.volume", p.degas, quantity.Volume)
		atLeast("DV-1", "max_pressure", significant(p.highest), quantity.PressureGauge)
	case tank:
		atLeast("T-1", "open_tank.volume", p.volume, quantity.Volume)
		atLeast("BL-1", "blower.rated_flow", significant(blowerSpare.best*p.gasFlow), quantity.GasFlow)
	}
	// Off-gas
	vents := []string{"VV-1", "VV-2"}
	switch p.circuit {
	case sideStream:
		vents = vents[:1]
	case tank:
		vents = nil
	}
	for _, tag := range vents {
		atLeast(tag, "float_vent_valve.orifice_diameter", p.ventBore, quantity.Length)
		atLeast(tag, "float_vent_valve.max_opening_difference", significant(p.highest), quantity.PressureDifference)
		words(tag, "float_vent_valve.capacity", fmt.Sprintf("at least %s at %s", say(significant(p.gasFlow), quantity.GasFlow), say(max(p.vessel, 0.1e5), quantity.PressureDifference)))
		atLeast(tag, "float_vent_valve.float_crush_pressure", significant(p.highest), quantity.PressureGauge)
		atLeast(tag, "max_pressure", significant(p.highest), quantity.PressureGauge)
	}
	atLeast("KO-1", "knock_out_pot.diameter", p.pot, quantity.Length)
	atLeast("OD-1", "ozone_destruct.rated_flow", significant(1.1*p.bursts()*p.burst), quantity.GasFlow)
	atLeast("OD-1", "ozone_destruct.heater_power", significant(p.heater), quantity.Power)
	atLeast("OD-1", "ozone_destruct.max_inlet_concentration", p.strength.high, quantity.MassFraction)
	// Behind the destruct the gas is as hot as a heated bed gets that turns all the ozone while none dissolves.
	hot := p.hottest()
	atLeast("OD-1", "ozone_destruct.max_bed_temperature", hot, quantity.Temperature)
	for _, tag := range []string{"OD-1", "TE-4", "GA-1", "VT-1"} {
		atLeast(tag, "max_temperature", hot, quantity.Temperature)
	}
	if p.circuit == tank {
		for _, tag := range []string{"BL-1", "TE-6", "PS-2"} {
			atLeast(tag, "max_temperature", hot, quantity.Temperature)
		}
	}
	// Gauges stand at about half of their range.
	all = append(all, want{tag: "PI-1", key: "pressure_gauge.range_high", low: 1.6 * p.inlet, high: 4 * p.inlet, dimension: quantity.PressureGauge})
	low := max(p.outlet, 0.1e5)
	all = append(all, want{tag: "PI-2", key: "pressure_gauge.range_high", low: 1.3 * low, high: max(2.6*low, 1e5), dimension: quantity.PressureGauge})
	return all
}

// hottest is the temperature in K of a bed that is held at 70 degC (common practice, no source) and turns all the ozone of the design
// strength, rounded up to ten kelvin.
func (p *plan) hottest() float64 {
	rise, err := unitop.AdiabaticRise(p.gas, heldBed, 1)
	if err != nil {
		// The strength is one of those assumed, for which the rise is known.
		return heldBed
	}
	return up(heldBed+rise-273.15, 10) + 273.15
}

// suctionVacuum is the pressure in Pa gauge at the injector's suction at which it has to draw the gas: common practice, no source.
const suctionVacuum = -0.1e5

// injectorWords says what an injector has to do.
func (p *plan) injectorWords() string {
	return fmt.Sprintf("about %s of water at %s before and %s behind it, drawing at least %s at %s", say(p.motive, quantity.LiquidFlow), say(p.inlet, quantity.PressureGauge),
		say(p.outlet, quantity.PressureGauge), say(significant(p.gasFlow), quantity.GasFlow), say(suctionVacuum, quantity.PressureGauge))
}

// reliefCapacity is the gas in mol/s that a relief valve of an entry passes at its set pressure in Pa gauge; 0 where the entry does
// not state its orifice.
func (p *plan) reliefCapacity(data *skidrulev1.Component, set float64) float64 {
	v := data.GetReliefValve()
	if v == nil || v.OrificeAreaM2 == nil || v.DischargeCoefficientRatio == nil {
		return 0
	}
	_, purity := strengthOf(p.feed)
	dry, err := feedGas(purity)
	if err != nil {
		return 0
	}
	molar, err := dry.MolarMass()
	if err != nil {
		return 0
	}
	ratio, err := dry.HeatCapacityRatio(293.15)
	if err != nil {
		return 0
	}
	flow, err := unitop.OrificeGasFlow(*v.OrificeAreaM2, *v.DischargeCoefficientRatio, set*(1+or(v.OverpressureRatio, 0))+p.demand.air, p.demand.air, 293.15, unitop.Gas{MolarMass: molar, HeatRatio: ratio, Compressibility: 1})
	if err != nil {
		return 0
	}
	return flow.Mass / molar
}
