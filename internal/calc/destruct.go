package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func destructCalculations() []Calculation {
	return []Calculation{adiabaticRise(), ozoneDestruct()}
}

func adiabaticRise() Calculation {
	at := func(oxygen, argon, ozone string) map[string]string {
		return texts("oxygen", oxygen, "argon", argon, "ozone", ozone, "temperature", "25 degC")
	}
	const nist = "enthalpy balance with NIST Shomate rows, computed independently"
	return Calculation{
		Name: "adiabatic-rise", Title: "Temperature rise of gas whose ozone decomposes",
		Purpose: "What a destruct bed sees without loss of heat: about 32 K for each wt% in dry oxygen.",
		Formula: "H_products(T2) = H_gas(T1) + x 142.67 kJ/mol",
		Inputs: slices.Concat(wetMixtureInputs(), []Input{
			number("temperature", quantity.Temperature, fluid.GasTemperatureLow, 700, "gas at the inlet"),
			assumed(number("conversion", quantity.Ratio, 0, 1, "share of the ozone that decomposes"), 1, "all of it: the hottest case"),
		}),
		Outputs: []Output{
			{"rise", quantity.TemperatureDifference, "temperature rise"},
			{"outlet", quantity.Temperature, "outlet temperature"},
		},
		Sources:     []Source{sourceShomate},
		Unpublished: "No published table of rises was found; the heat of formation and heat capacities are published, and an independent balance agrees.",
		Checks: []Check{
			{Inputs: at("100 vol%", "0 vol%", "0.1 wt%"), Output: "rise", Want: 3.24, Tolerance: 0.01, Source: nist, Status: Derived},
			{Inputs: at("100 vol%", "0 vol%", "2 wt%"), Output: "rise", Want: 64.3, Tolerance: 0.01, Source: nist, Status: Derived},
			{Inputs: at("100 vol%", "0 vol%", "10 wt%"), Output: "rise", Want: 310.2, Tolerance: 0.01, Source: nist, Status: Derived},
			{Inputs: at("20.9476 vol%", "0.934 vol%", "5 wt%"), Output: "rise", Want: 147.2, Tolerance: 0.01, Source: nist, Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(at("93 vol%", "4 vol%", ""), "ozone"), Key: "ozone", From: 0, To: 0.15, Output: "rise", Trend: Rises},
			{Inputs: at("93 vol%", "4 vol%", "8 wt%"), Key: "water", From: 0, To: 0.3, Output: "rise", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			g, err := mixtureOf(v)
			if err != nil {
				return Outcome{}, err
			}
			t := v.Number("temperature")
			rise, err := unitop.AdiabaticRise(g, t, v.Number("conversion"))
			return Outcome{Numbers: map[string]fluid.Range{"rise": fluid.Exact(rise), "outlet": fluid.Exact(t + rise)}}, err
		},
	}
}

func ozoneDestruct() Calculation {
	base := texts("oxygen", "93 vol%", "argon", "4.5 vol%", "ozone", "2 wt%", "water", "2.3 vol%", "gas_flow", "7 NL/min",
		"temperature", "20 degC", "pressure", "1 atm(a)", "carry_over", "3.6 g/h", "bed_temperature", "70 degC",
		"bed_volume", "0.4 L", "face_area", "40 cm2", "heat_loss", "10 W")
	return Calculation{
		Name: "ozone-destruct", Title: "Heated catalytic ozone destruct",
		Purpose: "Adiabatic rise, heater duty with evaporation of the carry-over, margin over the dew point, space and face velocity. The heat of the ozone is shown and not counted on.",
		Formula: "duty = n [H(T_bed) - H(T_in)] + m (h_fg + superheat) + loss; margin = T_bed - T_dew; SV = n 22.41397 L/mol / V_bed",
		Inputs: slices.Concat(wetMixtureInputs(), spread("gas_flow", quantity.GasFlow, 1e-9, 1000, "moist gas at the inlet"), []Input{
			number("temperature", quantity.Temperature, fluid.WaterTemperatureLow, fluid.WaterTemperatureHigh, "gas at the inlet"),
			number("pressure", quantity.PressureAbsolute, 1e3, fluid.GasPressureHigh, "pressure in the bed, absolute"),
		}, spread("carry_over", quantity.MassFlow, 0, 1, "liquid water that comes with the gas"), []Input{
			number("bed_temperature", quantity.Temperature, fluid.WaterTemperatureLow, 700, "temperature that the heater holds"),
			number("bed_volume", quantity.Volume, 1e-9, 100, "catalyst volume"),
			number("face_area", quantity.Area, 1e-9, 100, "face of the bed"),
		}, spread("heat_loss", quantity.Power, 0, 1e5, "heat loss of the housing")),
		Outputs: []Output{
			{"adiabatic_rise", quantity.TemperatureDifference, "temperature rise when all ozone decomposes"},
			{"hottest", quantity.Temperature, "bed temperature plus the rise"},
			{"heater_duty", quantity.Power, "heater duty of a cold start; spread from flow, carry-over and loss"},
			{"ozone_heat", quantity.Power, "heat that the ozone sets free"},
			{"dew_point", quantity.Temperature, "dew point with the carry-over evaporated"},
			{"dew_point_margin", quantity.TemperatureDifference, "bed temperature above the dew point"},
			{"space_velocity", quantity.Rate, "gas at 0 degC and 1 atm over the bed"},
			{"face_velocity", quantity.Velocity, "actual gas velocity at the face"},
		},
		Sources: []Source{sourceShomate, {"IAPWS SR1-86(1992), heat of vaporisation", Verified}, sourceIF97,
			{"packed MnO2-type bed in humid off-gas: about 5000 to 15000 1/h", CommonPractice}},
		Notes: []string{"Zero transfer at full output and the burst of the vent are the cases that size it: run off-gas first.",
			"Preheat of 10 to 30 K over the dew point is common practice."},
		Unpublished: "No published worked case was found; held by the heat balance, exact definitions and trends.",
		Checks: []Check{
			{Inputs: base, Output: "space_velocity", Want: 7.0 / 60 / 0.4, Tolerance: 1e-5, Source: "definition", Status: Derived},
			{Inputs: with(base, "heat_loss", "0 W", "bed_temperature", "20 degC"), Output: "heater_duty", Want: 3.6e-3 / 3600 * 2453.5e3, Tolerance: 1e-3, Source: steamTable + ": only evaporation is left", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "carry_over"), Key: "carry_over", From: 0, To: 1e-5, Output: "heater_duty", Trend: Rises},
			{Inputs: without(base, "carry_over"), Key: "carry_over", From: 0, To: 1e-5, Output: "dew_point_margin", Trend: Falls},
			{Inputs: without(base, "bed_temperature"), Key: "bed_temperature", From: 300, To: 500, Output: "heater_duty", Trend: Rises},
			{Inputs: without(base, "ozone"), Key: "ozone", From: 0, To: 0.12, Output: "hottest", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			g, err := mixtureOf(v)
			if err != nil {
				return Outcome{}, err
			}
			r, err := spreadsOf(v, "gas_flow", "carry_over", "heat_loss")
			if err != nil {
				return Outcome{}, err
			}
			d, err := unitop.HeatedDestruct(unitop.DestructInput{
				Gas: g, Flow: r[0], Temperature: v.Number("temperature"), Pressure: v.Number("pressure"), CarryOver: r[1],
				BedTemperature: v.Number("bed_temperature"), BedVolume: v.Number("bed_volume"), FaceArea: v.Number("face_area"), HeatLoss: r[2],
			})
			if err != nil {
				return Outcome{}, err
			}
			out := Outcome{Numbers: map[string]fluid.Range{
				"adiabatic_rise": fluid.Exact(d.AdiabaticRise), "hottest": fluid.Exact(d.OutletHottest), "heater_duty": d.HeaterDuty,
				"ozone_heat": d.OzoneHeat, "dew_point": d.DewPoint, "dew_point_margin": d.DewPointMargin,
				"space_velocity": d.SpaceVelocity, "face_velocity": d.FaceVelocity,
			}}
			if d.DewPointMargin.Low < 0 {
				out.Notes = append(out.Notes, "at the adverse end the bed lies below the dew point: it gets wet")
			}
			return out, nil
		},
	}
}
