package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func oxygenCalculations() []Calculation {
	return []Calculation{oxygenConcentrator(), gasCompression(), compressorFlow()}
}

// demoPurity is an invented purity curve for checks and examples.
const demoPurity = `product_flow [NL/min], purity [vol%]
4, 95
8, 93
12, 85`

func oxygenConcentrator() Calculation {
	base := texts("curve", demoPurity, "air_flow", "160 NL/min", "product_flow", "8 NL/min")
	return Calculation{
		Name: "oxygen-concentrator", Title: "Product and oxygen-poor exhaust of an oxygen concentrator",
		Purpose: "Purity from the curve against product flow; exhaust flow and composition from the balance over dry air. The exhaust depletes the oxygen of a room: run room-leak with it.",
		Formula: "y_exhaust = (y_air n_air - y_product n_product)/(n_air - n_product) for each gas; argon goes with oxygen",
		Inputs: []Input{
			{Key: "curve", Kind: Table, Description: "measured purity against product flow, rising flow", Columns: []Column{
				{Key: "product_flow", Dimension: quantity.GasFlow, Low: 1e-9, High: 1e4, Description: "product"},
				{Key: "purity", Dimension: quantity.MoleFraction, Low: 0, High: 1, Description: "oxygen in the dry product"},
			}},
			assumed(number("purity_error", quantity.MoleFraction, 0, 0.2, "stated error of the purity"), 0, "the curve states none"),
			number("air_flow", quantity.GasFlow, 1e-9, 1e4, "dry feed air"),
			number("product_flow", quantity.GasFlow, 1e-9, 1e4, "product"),
		},
		Outputs: []Output{
			{"purity", quantity.MoleFraction, "oxygen in the product; spread as stated"},
			{"argon", quantity.MoleFraction, "argon in the product, in the ratio of air to oxygen as far as there is room"},
			{"exhaust_flow", quantity.GasFlow, "dry exhaust"},
			{"exhaust_oxygen", quantity.MoleFraction, "oxygen in the exhaust"},
			{"recovery", quantity.Ratio, "oxygen in the product over that in the air"},
		},
		Sources:     []Source{{"the curve given", Derived}, {"US Standard Atmosphere 1976, composition of dry air", CrossChecked}, sourceBalance},
		Unpublished: "No published value is possible: the purity is that of the curve given. Tested: points come back, every gas is conserved, edges refuse.",
		Checks: []Check{
			{Inputs: base, Output: "purity", Want: 0.93, Tolerance: 1e-9, Source: "a point of the invented curve comes back", Status: Derived},
			{Inputs: base, Output: "exhaust_oxygen", Want: (0.209476*160 - 0.93*8) / 152, Tolerance: 1e-9, Source: "balance of oxygen", Status: Derived},
			{Inputs: base, Output: "exhaust_flow", Want: 152.0 / 60 / 22.41397, Tolerance: 1e-5, Source: "balance", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "product_flow"), Key: "product_flow", From: 0.003, To: 0.0089, Output: "purity", Trend: Falls},
			{Inputs: without(base, "air_flow"), Key: "air_flow", From: 0.05, To: 0.5, Output: "exhaust_oxygen", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			c, err := unitop.RunConcentrator(unitop.ConcentratorInput{
				Name: "concentrator", Purity: curveOf(v, "curve", "product_flow", "purity"),
				Air: v.Number("air_flow"), ProductFlow: v.Number("product_flow"), Error: v.Number("purity_error"),
			})
			return Outcome{Numbers: map[string]fluid.Range{
				"purity": c.Purity, "argon": fluid.Exact(c.Product.Ar), "exhaust_flow": fluid.Exact(c.ExhaustFlow),
				"exhaust_oxygen": c.ExhaustOxygen, "recovery": c.Recovery,
			}}, err
		},
	}
}

// curveOf reads two columns of a table as a curve.
func curveOf(v Values, table, x, y string) []unitop.CurvePoint {
	var points []unitop.CurvePoint
	for _, row := range v.Rows(table) {
		points = append(points, unitop.CurvePoint{X: row[x], Y: row[y]})
	}
	return points
}

func gasCompression() Calculation {
	base := texts("oxygen", "20.9476 vol%", "argon", "0.934 vol%", "flow", "1 mol/s", "temperature", "20 degC",
		"suction", "1 bar(a)", "discharge", "8 bar(a)", "efficiency", "1", "stages", "1")
	return Calculation{
		Name: "compression", Title: "Power and discharge temperature of a compressor",
		Purpose: "Ideal gas, equal stages cooled back to the inlet temperature; adiabatic, polytropic and isothermal power.",
		Formula: "P = n R T k/(k-1) (r^((k-1)/k) - 1)/eff for each stage",
		Inputs: slices.Concat(mixtureInputs()[:2], []Input{
			number("flow", quantity.GasFlow, 1e-9, 1e4, "gas"),
			number("temperature", quantity.Temperature, fluid.GasTemperatureLow, 400, "gas at the inlet"),
			number("suction", quantity.PressureAbsolute, 1, fluid.GasPressureHigh, "suction pressure, absolute"),
			number("discharge", quantity.PressureAbsolute, 1, fluid.GasPressureHigh, "discharge pressure, absolute"),
		}, spread("efficiency", quantity.Ratio, 0.05, 1, "efficiency"), []Input{
			number("stages", quantity.Ratio, 1, 5, "number of stages, whole"),
		}),
		Outputs: []Output{
			{"adiabatic_power", quantity.Power, "shaft power with an adiabatic efficiency"},
			{"polytropic_power", quantity.Power, "shaft power with a polytropic efficiency"},
			{"isothermal_power", quantity.Power, "least power"},
			{"discharge_temperature", quantity.Temperature, "discharge of the last stage before cooling"},
		},
		Sources:     []Source{{"Couper, Penney and Fair, Chemical Process Equipment, 2nd edition, compression of ideal gas, in a transcription", Verified}, sourceShomate},
		Unpublished: "Closed forms; held by them, by the isothermal limit and trends.",
		Checks: []Check{
			{Inputs: base, Output: "isothermal_power", Want: fluid.GasConstant * 293.15 * 2.0794415416798357, Tolerance: 1e-9, Source: "R T ln 8", Status: Derived},
			{Inputs: base, Output: "adiabatic_power", Want: fluid.GasConstant * 293.15 * 3.5 * 0.8114473, Tolerance: 3e-3, Source: "k = 1.4: 3.5 R T (8^(2/7) - 1)", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "discharge"), Key: "discharge", From: 1.1e5, To: 1.5e6, Output: "adiabatic_power", Trend: Rises},
			{Inputs: without(base, "efficiency"), Key: "efficiency", From: 0.4, To: 1, Output: "polytropic_power", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			g, err := fluid.DryOxygen(v.Number("oxygen"), v.Number("argon"))
			if err != nil {
				return Outcome{}, err
			}
			eff, err := spreadOf(v, "efficiency")
			if err != nil {
				return Outcome{}, err
			}
			n, err := wholeOf(v, "stages")
			if err != nil {
				return Outcome{}, err
			}
			c, err := unitop.Compress(unitop.CompressorInput{
				Gas: g, Flow: v.Number("flow"), Inlet: v.Number("temperature"),
				Suction: v.Number("suction"), Discharge: v.Number("discharge"), Efficiency: eff, Stages: n,
			})
			return Outcome{Numbers: map[string]fluid.Range{
				"adiabatic_power": c.Adiabatic, "polytropic_power": c.Polytropic,
				"isothermal_power": fluid.Exact(c.Isothermal), "discharge_temperature": c.Temperature,
			}}, err
		},
	}
}

func compressorFlow() Calculation {
	const demo = `discharge [bar(a)], flow [NL/min]
3, 180
6, 150
9, 100`
	base := texts("curve", demo, "discharge", "6 bar(a)")
	return Calculation{
		Name: "compressor-flow", Title: "Flow of a compressor from its curve",
		Purpose: "Straight lines between the points; never outside the curve.",
		Formula: "n = curve(discharge pressure)",
		Inputs: []Input{
			{Key: "curve", Kind: Table, Description: "measured flow against discharge pressure, rising pressure", Columns: []Column{
				{Key: "discharge", Dimension: quantity.PressureAbsolute, Low: 1, High: 1e8, Description: "discharge pressure, absolute"},
				{Key: "flow", Dimension: quantity.GasFlow, Low: 0, High: 1e4, Description: "gas"},
			}},
			number("discharge", quantity.PressureAbsolute, 1, 1e8, "discharge pressure, absolute"),
		},
		Outputs:     []Output{{"flow", quantity.GasFlow, "gas"}},
		Sources:     []Source{{"the curve given", Derived}},
		Unpublished: "No published value is possible: the numbers are those of the curve given. Tested: points come back, edges refuse.",
		Checks: []Check{
			{Inputs: base, Output: "flow", Want: 150.0 / 60 / 22.41397, Tolerance: 1e-5, Source: "a point of the invented curve comes back", Status: Derived},
		},
		Properties: []Property{{Inputs: without(base, "discharge"), Key: "discharge", From: 3e5, To: 9e5, Output: "flow", Trend: Falls}},
		Evaluate: func(v Values) (Outcome, error) {
			q, err := unitop.CompressorFlow("compressor", curveOf(v, "curve", "discharge", "flow"), v.Number("discharge"))
			return exact("flow", q), err
		},
	}
}
