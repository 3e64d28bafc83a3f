package calc

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

var nozzleSource = Source{"gas dynamics: isentropic flow of an ideal gas through a nozzle", Derived}

// upstream, downstream and gasTemperature are the states of a gas flow.
func upstream() Input {
	return number("upstream_pressure", quantity.PressureAbsolute, 1, 1e8, "pressure before the restriction, absolute")
}

func downstream() Input {
	return number("downstream_pressure", quantity.PressureAbsolute, 0, 1e8, "pressure behind the restriction, absolute")
}

func gasTemperature() Input {
	return number("temperature", quantity.Temperature, fluid.GasTemperatureLow, fluid.GasTemperatureHigh, "gas temperature before the restriction")
}

func bore() Input {
	return number("bore", quantity.Length, 1e-5, 1, "diameter of the hole")
}

// restrictionCalculations are orifices, bursts and restrictions in series.
func restrictionCalculations() []Calculation {
	return []Calculation{orificeGas(), orificeLiquid(), burstRestriction(), seriesRestrictions()}
}

// area returns the area in m2 of a circle of diameter d in m.
func area(d float64) float64 { return math.Pi / 4 * d * d }

func regime(choked bool) string {
	if choked {
		return "choked"
	}
	return "subcritical"
}

func orificeGas() Calculation {
	return Calculation{
		Name:    "orifice-gas",
		Title:   "Gas flow through an orifice, sub- or supercritical",
		Purpose: "What a hole, an open float vent or a needle passes, and its burst at full opening.",
		Formula: "W = Cd A sqrt(2 k/(k-1) p1 rho1 (r^(2/k) - r^((k+1)/k))), r = p2/p1, not below rc = (2/(k+1))^(k/(k-1))",
		Inputs:  slices.Concat([]Input{bore(), upstream(), downstream(), gasTemperature()}, coefficientInputs(), gasInputs()),
		Outputs: []Output{
			{"mass_flow", quantity.MassFlow, "mass flow; spread from the discharge coefficient"},
			{"gas_flow", quantity.GasFlow, "molar flow; spread from the discharge coefficient"},
			{"critical_ratio", quantity.Ratio, "ratio of downstream to upstream pressure at which the flow chokes"},
			{"regime", 0, "choked or subcritical"},
		},
		Sources: []Source{nozzleSource},
		Notes:   []string{"A sharp edge does not choke as sharply as a nozzle; state its coefficient as a spread."},
		Checks: []Check{
			{Inputs: map[string]string{"bore": "10 mm", "upstream_pressure": "2 bar(a)", "downstream_pressure": "1 bar(a)", "temperature": "300 K", "discharge_coefficient": "1", "molar_mass": "28.97 g/mol", "heat_ratio": "1.4"},
				Output: "critical_ratio", Want: 0.5283, Tolerance: 1e-4, Source: "gas dynamics tables, k = 1.4", Status: Derived},
			{Inputs: apiNozzle("1 bar(a)"), Output: "mass_flow", Want: 24270.0 / 3600, Tolerance: 2e-3, Source: "API Standard 520 Part I, example 1 (3698 mm2, Kd 0.975), in a transcription", Status: Verified},
			{Inputs: apiNozzle("532 kPa(a)"), Output: "mass_flow", Want: 24270.0 / 3600 * 3698 / 4248, Tolerance: 2e-3, Source: "API Standard 520 Part I, example 2 (4248 mm2, Kd 0.975), in a transcription, scaled to the area of example 1", Status: Verified},
		},
		Unpublished: "Two published nozzle flows are known; tested besides: rising with upstream pressure, flat when choked, zero at equal pressures.",
		Properties: []Property{
			{Inputs: map[string]string{"bore": "10 mm", "downstream_pressure": "1 bar(a)", "temperature": "293.15 K", "discharge_coefficient": "0.6", "gas": "oxygen"},
				Key: "upstream_pressure", From: 1e5, To: 8e5, Output: "mass_flow", Trend: Rises},
			{Inputs: map[string]string{"bore": "10 mm", "upstream_pressure": "4 bar(a)", "temperature": "293.15 K", "discharge_coefficient": "0.6", "gas": "oxygen"},
				Key: "downstream_pressure", From: 0, To: 4e5, Output: "mass_flow", Trend: NotRises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			gas, err := gasOf(v, v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			cd, err := spreadOf(v, "discharge_coefficient")
			if err != nil {
				return Outcome{}, err
			}
			mass, err := unitop.BurstFlow(v.Number("bore"), cd, v.Number("upstream_pressure"), v.Number("downstream_pressure"), v.Number("temperature"), gas)
			if err != nil {
				return Outcome{}, err
			}
			rc, err := unitop.CriticalPressureRatio(gas.HeatRatio)
			if err != nil {
				return Outcome{}, err
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"mass_flow": mass, "gas_flow": mass.Scale(1 / gas.MolarMass), "critical_ratio": fluid.Exact(rc)},
				Words:   map[string]string{"regime": regime(v.Number("downstream_pressure") <= rc*v.Number("upstream_pressure"))},
			}, nil
		},
	}
}

// apiNozzle are the inputs of the relief examples of API 520 as an orifice of
// the area of example 1.
func apiNozzle(back string) map[string]string {
	return map[string]string{"bore": "68.627 mm", "upstream_pressure": "670 kPa(a)", "downstream_pressure": back, "temperature": "348 K",
		"discharge_coefficient": "0.975", "molar_mass": "51 g/mol", "heat_ratio": "1.11", "compressibility": "0.9"}
}

func orificeLiquid() Calculation {
	return Calculation{
		Name:    "orifice-liquid",
		Title:   "Liquid flow through an orifice or drain",
		Purpose: "What a drain orifice or restriction passes, with a head of liquid above it. Flashing is not modelled.",
		Formula: "Q = Cd A sqrt(2 (p1 + rho g h - p2)/rho)",
		Inputs: slices.Concat([]Input{bore(), upstream(), downstream(),
			assumed(number("head", quantity.Length, 0, 100, "height of liquid above the hole"), 0, "no liquid above the hole"),
			number("density", quantity.Density, 300, 3000, "liquid density"),
			number("vapour_pressure", quantity.PressureAbsolute, 0, 1e7, "vapour pressure of the liquid, absolute")}, coefficientInputs()),
		Outputs:     []Output{{"liquid_flow", quantity.LiquidFlow, "flow; spread from the discharge coefficient"}},
		Sources:     []Source{{"Bernoulli equation with a discharge coefficient (Torricelli)", Derived}},
		Checks:      []Check{{Inputs: drainCase("1"), Output: "liquid_flow", Want: 0.78539816339e-4 * 4.42869, Tolerance: 1e-4, Source: "Torricelli: sqrt(2 g h) at 1 m", Status: Derived}},
		Unpublished: "Torricelli's law is the check; tested besides: rising with head, falling with downstream pressure.",
		Properties: []Property{
			{Inputs: without(drainCase("0.6"), "head"), Key: "head", From: 0, To: 10, Output: "liquid_flow", Trend: Rises},
			{Inputs: without(drainCase("0.6"), "downstream_pressure"), Key: "downstream_pressure", From: 5e4, To: 1e5, Output: "liquid_flow", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			cd, err := spreadOf(v, "discharge_coefficient")
			if err != nil {
				return Outcome{}, err
			}
			q, err := unitop.DrainCapacity(v.Number("bore"), cd, v.Number("upstream_pressure"), v.Number("downstream_pressure"),
				v.Number("head"), v.Number("density"), v.Number("vapour_pressure"))
			return Outcome{Numbers: map[string]fluid.Range{"liquid_flow": q}}, err
		},
	}
}

func drainCase(cd string) map[string]string {
	return map[string]string{"bore": "10 mm", "upstream_pressure": "1 bar(a)", "downstream_pressure": "1 bar(a)", "head": "1 m",
		"density": "998.2 kg/m3", "vapour_pressure": "2339 Pa(a)", "discharge_coefficient": cd}
}

func burstRestriction() Calculation {
	return Calculation{
		Name:    "burst-restriction",
		Title:   "Bore of a restriction that limits a burst",
		Purpose: "The hole that passes at most what the parts behind a vent bear.",
		Formula: "A = W/(flux of orifice-gas), d = sqrt(4 A/pi)",
		Inputs: slices.Concat([]Input{
			number("mass_flow", quantity.MassFlow, 1e-9, 1e3, "highest mass flow that may pass"),
			upstream(), downstream(), gasTemperature()}, coefficientInputs(), gasInputs()),
		Outputs: []Output{{"bore", quantity.Length, "bore; the high coefficient needs the low bore, which is the safe one"}},
		Sources: []Source{nozzleSource},
		Checks: []Check{{Inputs: map[string]string{"mass_flow": "24270 kg/h", "upstream_pressure": "670 kPa(a)", "downstream_pressure": "1 bar(a)", "temperature": "348 K",
			"discharge_coefficient": "0.975", "molar_mass": "51 g/mol", "heat_ratio": "1.11", "compressibility": "0.9"},
			Output: "bore", Want: 0.0686, Tolerance: 2e-3, Source: "API Standard 520 Part I, example 1 (3698 mm2), in a transcription", Status: Verified}},
		Unpublished: "One published area is known; tested besides: it inverts orifice-gas, and rises with the flow.",
		Properties: []Property{{Inputs: map[string]string{"upstream_pressure": "3 bar(a)", "downstream_pressure": "1 bar(a)", "temperature": "293.15 K", "discharge_coefficient": "0.6", "gas": "oxygen"},
			Key: "mass_flow", From: 1e-6, To: 1e-2, Output: "bore", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			gas, err := gasOf(v, v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			cd, err := spreadOf(v, "discharge_coefficient")
			if err != nil {
				return Outcome{}, err
			}
			d, err := unitop.LimitingBore(v.Number("mass_flow"), cd, v.Number("upstream_pressure"), v.Number("downstream_pressure"), v.Number("temperature"), gas)
			return Outcome{Numbers: map[string]fluid.Range{"bore": d}}, err
		},
	}
}

func seriesRestrictions() Calculation {
	inputs := func() map[string]string {
		return map[string]string{"bore": "3 mm", "second_bore": "6 mm", "upstream_pressure": "3 bar(a)", "downstream_pressure": "1 bar(a)",
			"temperature": "293.15 K", "discharge_coefficient": "0.7", "second_coefficient": "0.7", "gas": "oxygen"}
	}
	return Calculation{
		Name:    "series-restrictions",
		Title:   "Gas through two restrictions in series, with the pressure between them",
		Purpose: "A float vent and the line or restriction behind it: the burst, and the back pressure that the vent sees.",
		Formula: "W1(p1, p) = W2(p, p2), each as orifice-gas; p by bisection",
		Inputs: slices.Concat([]Input{bore(),
			number("discharge_coefficient", quantity.Ratio, 0.05, 1, "discharge coefficient of the first"),
			number("second_bore", quantity.Length, 1e-5, 1, "diameter of the second hole"),
			number("second_coefficient", quantity.Ratio, 0.05, 1, "discharge coefficient of the second"),
			upstream(), downstream(), gasTemperature()}, gasInputs()),
		Outputs: []Output{
			{"mass_flow", quantity.MassFlow, "mass flow through both"},
			{"gas_flow", quantity.GasFlow, "molar flow through both"},
			{"pressure_between", quantity.PressureAbsolute, "pressure between the two, absolute: the back pressure of the first"},
			{"regime", 0, "which of the two is choked"},
		},
		Sources:     []Source{nozzleSource},
		Notes:       []string{"Velocity is taken as lost between the two and the upstream temperature as kept."},
		Unpublished: "No published value is known; tested: mass balance, limits of a very wide or narrow second hole, trends.",
		Properties: []Property{
			{Inputs: without(inputs(), "second_bore"), Key: "second_bore", From: 1e-3, To: 2e-2, Output: "mass_flow", Trend: NotFalls},
			{Inputs: without(inputs(), "second_bore"), Key: "second_bore", From: 1e-3, To: 2e-2, Output: "pressure_between", Trend: Falls},
			{Inputs: without(inputs(), "bore"), Key: "bore", From: 1e-3, To: 2e-2, Output: "pressure_between", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			gas, err := gasOf(v, v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			f, err := unitop.SeriesGasFlow(
				unitop.Restriction{Area: area(v.Number("bore")), Coefficient: v.Number("discharge_coefficient")},
				unitop.Restriction{Area: area(v.Number("second_bore")), Coefficient: v.Number("second_coefficient")},
				v.Number("upstream_pressure"), v.Number("downstream_pressure"), v.Number("temperature"), gas)
			if err != nil {
				return Outcome{}, err
			}
			words := map[bool]map[bool]string{
				false: {false: "neither choked", true: "second choked"},
				true:  {false: "first choked", true: "both choked"},
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"mass_flow": fluid.Exact(f.Mass), "gas_flow": fluid.Exact(f.Molar), "pressure_between": fluid.Exact(f.Between)},
				Words:   map[string]string{"regime": words[f.FirstChoked][f.SecondChoked]},
			}, nil
		},
	}
}
