package quantity

import (
	"math"
	"slices"
)

// Dimension is what a number measures.
type Dimension uint8

// The dimensions. The zero value is none of them.
const (
	_ Dimension = iota
	PressureGauge
	PressureAbsolute
	PressureDifference
	Temperature
	TemperatureDifference
	Length
	Area
	Volume
	Duration
	LiquidFlow
	GasFlow
	MassFlow
	Mass
	Power
	Energy
	SpecificEnergy
	MolarEnergy
	MassFraction
	MoleFraction
	MassConcentration
	Exposure
	FlowCoefficient
	Velocity
	Density
	Frequency
	RotationalSpeed
	Voltage
	Current
	Rate
	Ratio
	Angle
	DynamicViscosity
	SurfaceTension
	MolarMass
	MolarHeatCapacity
	Diffusivity
	HenrySolubility
	Force
	HeatTransferCoefficient

	dimensionEnd
)

// shown is a unit that a value may be printed in.
type shown struct {
	unit string
	min  float64 // the smallest number, in this unit, that people prefer to see in it
}

// onlyExact keeps a unit out of the choice of Format: a lifetime that was
// computed is not a number of calendar months.
const onlyExact = math.MaxFloat64

// row describes one dimension. In each list of shown units the preferred one
// comes first; the smallest one takes whatever is too small for the others.
type row struct {
	name   string
	suffix string // of a wire field
	noun   string
	si     string
	metric []shown
	us     []shown
	also   []string // other units that are named to people, and tried by Exact
}

var rows = [dimensionEnd]row{
	PressureGauge: {"pressure_gauge", "pa_gauge", "gauge pressure", "Pa(g)",
		[]shown{{"bar(g)", 0.1}, {"mbar(g)", 0}}, []shown{{"psi(g)", 0.1}, {"inH2O(g)", 0}},
		[]string{"kPa(g)", "MPa(g)", "mH2O(g)", "inHg(g)"}},
	PressureAbsolute: {"pressure_absolute", "pa_abs", "absolute pressure", "Pa(a)",
		[]shown{{"bar(a)", 0.1}, {"mbar(a)", 0}}, []shown{{"psi(a)", 0}},
		[]string{"kPa(a)", "MPa(a)", "atm(a)", "mmHg(a)"}},
	PressureDifference: {"pressure_difference", "pa", "pressure difference", "Pa",
		[]shown{{"bar", 0.1}, {"mbar", 0}}, []shown{{"psi", 0.1}, {"inH2O", 0}},
		[]string{"kPa", "MPa", "mH2O", "inHg"}},
	Temperature: {"temperature", "k", "temperature", "K",
		[]shown{{"degC", 0}}, []shown{{"degF", 0}}, nil},
	TemperatureDifference: {"temperature_difference", "delta_k", "temperature difference", "K",
		[]shown{{"K", 0}}, []shown{{"degF", 0}}, nil},
	Length: {"length", "m", "length", "m",
		[]shown{{"m", 1}, {"mm", 0.1}, {"um", 0}}, []shown{{"in", 0}, {"ft", 3}}, []string{"cm", "km"}},
	Area: {"area", "m2", "area", "m2",
		[]shown{{"m2", 0.1}, {"mm2", 0}}, []shown{{"ft2", 1}, {"in2", 0}}, []string{"cm2"}},
	Volume: {"volume", "m3", "volume", "m3",
		[]shown{{"m3", 1}, {"L", 0.1}, {"mL", 0}}, []shown{{"gal", 0.1}, {"in3", 0}}, []string{"ft3"}},
	Duration: {"duration", "s", "duration", "s",
		[]shown{{"h", 2}, {"d", 2}, {"min", 2}, {"s", 0.1}, {"ms", 0}, {"months", onlyExact}, {"years", onlyExact}},
		[]shown{{"h", 2}, {"d", 2}, {"min", 2}, {"s", 0.1}, {"ms", 0}}, nil},
	LiquidFlow: {"liquid_flow", "m3_per_s", "liquid flow", "m3/s",
		[]shown{{"m3/h", 1}, {"L/min", 0.1}, {"mL/min", 0}}, []shown{{"gal/min", 0.1}, {"gal/h", 0}}, []string{"L/h"}},
	GasFlow: {"gas_flow", "mol_per_s", "gas flow", "mol/s",
		[]shown{{"NL/min", 0}, {"Nm3/h", 1}}, []shown{{"ft3/min at 60 degF, 14.696 psi(a)", 0}},
		[]string{"kmol/h", "Sm3/h", "L/min at 20 degC, 1.01325 bar(a)"}},
	MassFlow: {"mass_flow", "kg_per_s", "mass flow", "kg/s",
		[]shown{{"g/h", 0.1}, {"kg/h", 1}, {"mg/h", 0}}, []shown{{"lb/d", 0}}, []string{"lb/h"}},
	Mass: {"mass", "kg", "mass", "kg",
		[]shown{{"kg", 1}, {"g", 0.1}, {"mg", 0}}, []shown{{"lb", 1}, {"oz", 0}}, []string{"t"}},
	Power: {"power", "w", "power", "W",
		[]shown{{"W", 0.1}, {"kW", 1}, {"mW", 0}}, []shown{{"W", 0.1}, {"kW", 1}, {"mW", 0}}, []string{"hp", "Btu/h"}},
	Energy: {"energy", "j", "energy", "J",
		[]shown{{"kJ", 1}, {"MJ", 1}, {"J", 0}}, []shown{{"Btu", 0}}, []string{"kWh"}},
	SpecificEnergy: {"specific_energy", "j_per_kg", "specific energy", "J/kg",
		[]shown{{"kWh/kg", 1}, {"kJ/kg", 0}}, []shown{{"kWh/lb", 1}, {"Btu/lb", 0}}, []string{"Wh/g"}},
	MolarEnergy: {"molar_energy", "j_per_mol", "molar energy", "J/mol",
		[]shown{{"kJ/mol", 1}, {"J/mol", 0}}, []shown{{"kJ/mol", 1}, {"J/mol", 0}}, []string{"Btu/lbmol"}},
	MassFraction: {"mass_fraction", "mass_fraction", "mass fraction", "kg/kg",
		[]shown{{"wt%", 0.01}, {"mg/kg", 0}}, []shown{{"wt%", 0.01}, {"mg/kg", 0}},
		[]string{"g/kg", "g/Nm3 in O2", "ppmv in air"}},
	MoleFraction: {"mole_fraction", "mole_fraction", "mole fraction", "mol/mol",
		[]shown{{"vol%", 0.1}, {"ppmv", 0}}, []shown{{"vol%", 0.1}, {"ppmv", 0}}, []string{"mol%", "ppbv"}},
	MassConcentration: {"mass_concentration", "kg_per_m3", "mass concentration", "kg/m3",
		[]shown{{"mg/L", 0.01}, {"ug/L", 0}}, []shown{{"mg/L", 0.01}, {"ug/L", 0}}, []string{"g/m3", "mg/m3"}},
	Exposure: {"exposure", "kg_s_per_m3", "exposure (concentration times time)", "kg s/m3",
		[]shown{{"mg min/L", 0}}, []shown{{"mg min/L", 0}}, []string{"mg s/L"}},
	FlowCoefficient: {"flow_coefficient", "kv_m3_per_h", "flow coefficient", "Kv",
		[]shown{{"Kv", 0}}, []shown{{"Cv", 0}}, nil},
	Velocity: {"velocity", "m_per_s", "velocity", "m/s",
		[]shown{{"m/s", 0.01}, {"mm/s", 0}}, []shown{{"ft/s", 0}}, []string{"m/h", "ft/min"}},
	Density: {"density", "density_kg_per_m3", "density", "kg/m3",
		[]shown{{"kg/m3", 0}}, []shown{{"lb/ft3", 0}}, []string{"g/cm3", "kg/L"}},
	Frequency: {"frequency", "hz", "frequency", "Hz",
		[]shown{{"Hz", 0}, {"kHz", 1}, {"MHz", 1}}, []shown{{"Hz", 0}, {"kHz", 1}, {"MHz", 1}}, nil},
	RotationalSpeed: {"rotational_speed", "rev_per_s", "rotational speed", "rev/s",
		[]shown{{"rpm", 0}}, []shown{{"rpm", 0}}, []string{"rev/min"}},
	Voltage: {"voltage", "v", "voltage", "V",
		[]shown{{"V", 0.1}, {"kV", 1}, {"mV", 0}}, []shown{{"V", 0.1}, {"kV", 1}, {"mV", 0}}, nil},
	Current: {"current", "a", "electric current", "A",
		[]shown{{"A", 0.1}, {"mA", 0}}, []shown{{"A", 0.1}, {"mA", 0}}, []string{"kA"}},
	Rate: {"rate", "per_s", "rate", "1/s",
		[]shown{{"1/s", 0.1}, {"1/min", 0.1}, {"1/h", 0}}, []shown{{"1/s", 0.1}, {"1/min", 0.1}, {"1/h", 0}},
		[]string{"1/d", "1/year"}},
	Ratio: {"ratio", "ratio", "ratio", "",
		[]shown{{"", 0}}, []shown{{"", 0}}, []string{"%"}},
	Angle: {"angle", "rad", "angle", "rad",
		[]shown{{"deg", 0}}, []shown{{"deg", 0}}, nil},
	DynamicViscosity: {"dynamic_viscosity", "pa_s", "dynamic viscosity", "Pa s",
		[]shown{{"mPa s", 0.1}, {"Pa s", 1}, {"uPa s", 0}}, []shown{{"cP", 0}}, []string{"kg/(m s)"}},
	SurfaceTension: {"surface_tension", "n_per_m", "surface tension", "N/m",
		[]shown{{"mN/m", 0}}, []shown{{"mN/m", 0}}, []string{"J/m2"}},
	MolarMass: {"molar_mass", "kg_per_mol", "molar mass", "kg/mol",
		[]shown{{"g/mol", 0}}, []shown{{"lb/lbmol", 0}}, nil},
	MolarHeatCapacity: {"molar_heat_capacity", "j_per_mol_k", "molar heat capacity", "J/(mol K)",
		[]shown{{"J/(mol K)", 0}}, []shown{{"Btu/(lbmol degF)", 0}}, []string{"kJ/(mol K)"}},
	Diffusivity: {"diffusivity", "m2_per_s", "diffusivity", "m2/s",
		[]shown{{"m2/s", 0}}, []shown{{"ft2/s", 0}}, []string{"cm2/s", "mm2/s", "cSt"}},
	HenrySolubility: {"henry_solubility", "mol_per_m3_pa", "Henry solubility", "mol/(m3 Pa)",
		[]shown{{"mol/(m3 Pa)", 0}}, []shown{{"mol/(m3 Pa)", 0}}, []string{"mol/(L bar)", "mol/(L atm)"}},
	Force: {"force", "n", "force", "N",
		[]shown{{"N", 0}, {"kN", 1}}, []shown{{"lbf", 0}}, nil},
	HeatTransferCoefficient: {"heat_transfer_coefficient", "w_per_m2_k", "heat transfer coefficient", "W/(m2 K)",
		[]shown{{"W/(m2 K)", 0}}, []shown{{"Btu/(h ft2 degF)", 0}}, []string{"kW/(m2 K)"}},
}

// Dimensions returns every dimension, in the order of the constants.
func Dimensions() []Dimension {
	all := make([]Dimension, 0, dimensionEnd-1)
	for d := PressureGauge; d < dimensionEnd; d++ {
		all = append(all, d)
	}
	return all
}

// DimensionByName finds a dimension by its name, such as "pressure_gauge".
func DimensionByName(name string) (Dimension, bool) {
	for d := PressureGauge; d < dimensionEnd; d++ {
		if rows[d].name == name {
			return d, true
		}
	}
	return 0, false
}

// Valid reports whether d is one of the constants.
func (d Dimension) Valid() bool { return d > 0 && d < dimensionEnd }

func (d Dimension) row() row {
	if !d.Valid() {
		return row{}
	}
	return rows[d]
}

// Name returns the name in lower_snake spelling, such as "pressure_gauge".
// It is empty for a value that is not a dimension.
func (d Dimension) Name() string { return d.row().name }

// String returns the name.
func (d Dimension) String() string {
	if !d.Valid() {
		return "no dimension"
	}
	return rows[d].name
}

// FieldSuffix returns the end of the name of a wire field that holds the SI
// value, such as "pa_gauge".
func (d Dimension) FieldSuffix() string { return d.row().suffix }

// Noun returns the name for a sentence, such as "gauge pressure".
func (d Dimension) Noun() string { return d.row().noun }

// SI returns the text of the unit that the SI value counts, such as "Pa(g)".
// It is empty for a plain ratio.
func (d Dimension) SI() string { return d.row().si }

// Preferred returns the unit for people in a system of units, such as "bar(g)";
// [Format] may choose a smaller one for a small value.
func (d Dimension) Preferred(system System) string {
	if !d.Valid() {
		return ""
	}
	return d.row().shown(system)[0].unit
}

// atZero is the unit of zero: no time is 0 s, beside limits that are rarely counted in hours.
func (d Dimension) atZero(system System) string {
	if d == Duration {
		return d.SI()
	}
	return d.Preferred(system)
}

func (r row) shown(system System) []shown {
	if system == US {
		return r.us
	}
	return r.metric
}

// Units returns the units to name to people when they ask what fits: metric
// first, then other and US customary units, then the SI unit. The list is not
// complete: any product of known units with the right dimension is read.
func (d Dimension) Units() []string {
	var all []string
	r := d.row()
	add := func(u string) {
		if u != "" && !slices.Contains(all, u) {
			all = append(all, u)
		}
	}
	for _, s := range r.metric {
		add(s.unit)
	}
	for _, u := range r.also {
		add(u)
	}
	for _, s := range r.us {
		add(s.unit)
	}
	add(r.si)
	return all
}

// System is a family of units for people.
type System uint8

// The systems of units.
const (
	Metric System = iota
	US
)

// String returns "metric" or "US customary".
func (s System) String() string {
	if s == US {
		return "US customary"
	}
	return "metric"
}
