package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func generatorCalculations() []Calculation {
	return []Calculation{ozoneGenerator()}
}

// demoOutput is an invented output table for checks and examples.
const demoOutput = `flow [NL/min], purity [vol%], power [W], coolant [degC], output [g/h]
4, 93, 300, 20, 20
4, 93, 600, 20, 34
8, 93, 300, 20, 24
8, 93, 600, 20, 50
12, 93, 300, 20, 25
12, 93, 600, 20, 58`

func ozoneGenerator() Calculation {
	base := texts("table", demoOutput, "oxygen", "93 vol%", "argon", "4 vol%", "flow", "8 NL/min", "power", "600 W", "coolant", "20 degC")
	return Calculation{
		Name: "ozone-generator", Title: "Output of an ozone generator from its table",
		Purpose: "Output at the actual flow, purity, power and coolant temperature; cooling duty. The table holds every combination of its flows, purities, powers and coolant temperatures. Never outside the table, never without it.",
		Formula: "output = table, straight lines along each axis; cooling = power - output 2.972 MJ/kg",
		Inputs: []Input{
			{Key: "table", Kind: Table, Description: "measured output for every combination of the four conditions", Columns: []Column{
				{Key: "flow", Dimension: quantity.GasFlow, Low: 1e-9, High: 1e4, Description: "feed gas"},
				{Key: "purity", Dimension: quantity.MoleFraction, Low: 0, High: 1, Description: "oxygen in the feed gas"},
				{Key: "power", Dimension: quantity.Power, Low: 0, High: 1e7, Description: "electrical power"},
				{Key: "coolant", Dimension: quantity.Temperature, Low: 250, High: 350, Description: "coolant at the inlet"},
				{Key: "output", Dimension: quantity.MassFlow, Low: 0, High: 100, Description: "ozone"},
			}},
			assumed(number("table_error", quantity.Ratio, 0, 0.5, "stated relative error of the table"), 0, "the table states none; only interpolation is then in the spread"),
			number("oxygen", quantity.MoleFraction, 0, 1, "oxygen in the dry feed gas"),
			assumed(number("argon", quantity.MoleFraction, 0, 1, "argon in the dry feed gas; the rest is nitrogen"), 0, "counted as nitrogen; its properties differ little"),
			number("flow", quantity.GasFlow, 1e-9, 1e4, "feed gas"),
			number("power", quantity.Power, 0, 1e7, "electrical power"),
			number("coolant", quantity.Temperature, 250, 350, "coolant at the inlet"),
		},
		Outputs: []Output{
			{"output", quantity.MassFlow, "ozone; spread from the table's error and interpolation"},
			{"mass_fraction", quantity.MassFraction, "ozone in the product gas"},
			{"mole_fraction", quantity.MoleFraction, "ozone in the product gas"},
			{"product_flow", quantity.GasFlow, "product gas"},
			{"energy", quantity.SpecificEnergy, "electrical energy per mass of ozone"},
			{"cooling_duty", quantity.Power, "heat to be cooled away, that of the product gas included"},
		},
		Sources:     []Source{{"the table given", Derived}, sourceShomate},
		Unpublished: "No published value is possible: the numbers are those of the table given. Tested: cells come back, edges refuse, mass and energy balance.",
		Checks: []Check{
			{Inputs: base, Output: "output", Want: 50e-3 / 3600, Tolerance: 1e-9, Source: "a cell of the invented table comes back", Status: Derived},
			{Inputs: with(base, "power", "450 W"), Output: "output", Want: 37e-3 / 3600, Tolerance: 1e-9, Source: "half-way between two cells", Status: Derived},
			{Inputs: base, Output: "cooling_duty", Want: 600 - 50*0.8257, Tolerance: 1e-4, Source: "0.8257 W for each g/h of ozone", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "flow"), Key: "flow", From: 0.0031, To: 0.0088, Output: "output", Trend: Rises},
			{Inputs: without(base, "flow"), Key: "flow", From: 0.0031, To: 0.0088, Output: "mass_fraction", Trend: Falls},
			{Inputs: without(base, "power"), Key: "power", From: 300, To: 600, Output: "output", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			table, err := outputTable(v)
			if err != nil {
				return Outcome{}, err
			}
			feed, err := fluid.DryOxygen(v.Number("oxygen"), v.Number("argon"))
			if err != nil {
				return Outcome{}, err
			}
			g, err := unitop.RunGenerator(unitop.GeneratorInput{
				Name: "generator", Table: table, Feed: feed, Flow: v.Number("flow"), Power: v.Number("power"), Coolant: v.Number("coolant"),
			})
			if err != nil {
				return Outcome{}, err
			}
			out := Outcome{Numbers: map[string]fluid.Range{
				"output": g.Output, "mass_fraction": g.MassFraction, "mole_fraction": g.MoleFraction,
				"product_flow": g.ProductFlow, "energy": g.Energy, "cooling_duty": g.CoolingDuty,
			}}
			if g.Output.Low == 0 {
				delete(out.Numbers, "energy")
				out.Notes = append(out.Notes, "the output may be zero: no energy per mass")
			}
			return out, nil
		},
	}
}

// outputTable turns rows into a grid and refuses gaps and doubles.
func outputTable(v Values) (*unitop.OutputTable, error) {
	rows := v.Rows("table")
	keys := [4]string{"flow", "purity", "power", "coolant"}
	var axes [4]unitop.OutputAxis
	for k, key := range keys {
		for _, row := range rows {
			axes[k] = append(axes[k], row[key])
		}
		slices.Sort(axes[k])
		axes[k] = slices.Compact(axes[k])
	}
	cells := 1
	for _, a := range axes {
		// A full grid cannot have more cells than there are rows.
		if cells *= len(a); cells > len(rows) {
			break
		}
	}
	if cells != len(rows) || len(rows) == 0 {
		return nil, &unitop.ContradictionError{Reason: "table does not hold each combination of its flows, purities, powers and coolant temperatures once"}
	}
	table := &unitop.OutputTable{
		Flow: axes[0], Purity: axes[1], Power: axes[2], Coolant: axes[3],
		Output: make([]float64, cells), Error: v.Number("table_error"),
	}
	filled := make([]bool, cells)
	for _, row := range rows {
		index := 0
		for k, key := range keys {
			i, _ := slices.BinarySearch(axes[k], row[key])
			index = index*len(axes[k]) + i
		}
		if filled[index] {
			return nil, &unitop.ContradictionError{Reason: "table holds a combination of flow, purity, power and coolant temperature twice"}
		}
		filled[index] = true
		table.Output[index] = row["output"]
	}
	return table, nil
}
