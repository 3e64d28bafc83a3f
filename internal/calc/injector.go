package calc

import (
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// injectorNone is why an injector has no published check values.
const injectorNone = "No published value is possible: the numbers are those of the table given. Tested: rows come back exactly, plateaus stay flat, nothing overshoots, edges refuse, the inverse returns to the flow."

// demoInjector is an invented table for checks and examples.
const demoInjector = `inlet_pressure [bar(a)], outlet_pressure [bar(a)], motive_flow [m3/h], suction_flow [NL/min]
3, 1.2, 5.0, 12
3, 1.6, 5.0, 12
3, 2.0, 5.0, 7
3, 2.4, 5.0, 0
5, 1.6, 6.6, 22
5, 2.4, 6.6, 22
5, 3.2, 6.6, 13
5, 4.0, 6.6, 0`

// demoCurve is the invented suction curve that goes with it.
const demoCurve = `suction_pressure [bar(a)], suction_flow [NL/min]
0.5, 0
0.8, 15
1.0, 22`

func injectorTableInputs() []Input {
	return []Input{
		{Key: "table", Kind: Table, Description: "measured rows of the injector, at one suction pressure", Columns: []Column{
			{Key: "inlet_pressure", Dimension: quantity.PressureAbsolute, Low: 1, High: 1e8, Description: "motive inlet, absolute"},
			{Key: "outlet_pressure", Dimension: quantity.PressureAbsolute, Low: 1, High: 1e8, Description: "outlet, absolute"},
			{Key: "motive_flow", Dimension: quantity.LiquidFlow, Low: 1e-9, High: 1e3, Description: "motive water flow", Optional: true},
			{Key: "suction_flow", Dimension: quantity.GasFlow, Low: 0, High: 1e5, Description: "gas drawn; its reference conditions stand in its unit"},
		}},
		number("table_suction_pressure", quantity.PressureAbsolute, 1, 1e7, "suction pressure at which the rows were measured, absolute"),
		number("table_molar_mass", quantity.MolarMass, 0.002, 0.3, "molar mass of the gas with which they were measured (dry air 28.96 g/mol)"),
		number("table_temperature", quantity.Temperature, 200, 500, "temperature of that gas at the suction port"),
		optional(Input{Key: "suction_curve", Kind: Table, Description: "flow against suction pressure at one inlet and outlet pressure; only ratios count", Columns: []Column{
			{Key: "suction_pressure", Dimension: quantity.PressureAbsolute, Low: 1, High: 1e7, Description: "suction port, absolute"},
			{Key: "suction_flow", Dimension: quantity.GasFlow, Low: 0, High: 1e5, Description: "gas drawn"},
		}}),
		assumed(number("reading_error", quantity.Ratio, 0, 0.5, "relative uncertainty of the table's flows"), 0, "the table states none; only interpolation is then in the spread"),
	}
}

func injectorOf(v Values) (*unitop.Injector, error) {
	table := unitop.InjectorTable{
		SuctionPressure: v.Number("table_suction_pressure"),
		GasMolarMass:    v.Number("table_molar_mass"),
		GasTemperature:  v.Number("table_temperature"),
		ReadingError:    v.Number("reading_error"),
	}
	for i, row := range v.Rows("table") {
		motive, stated := row["motive_flow"]
		if i == 0 {
			table.MotiveStated = stated
		}
		table.Rows = append(table.Rows, unitop.InjectorRow{
			InletPressure: row["inlet_pressure"], OutletPressure: row["outlet_pressure"], MotiveFlow: motive, SuctionFlow: row["suction_flow"],
		})
	}
	for _, row := range v.Rows("suction_curve") {
		table.SuctionCurve = append(table.SuctionCurve, unitop.SuctionPoint{Pressure: row["suction_pressure"], Flow: row["suction_flow"]})
	}
	return unitop.NewInjector(table)
}

func demoInputs() map[string]string {
	return map[string]string{"table": demoInjector, "table_suction_pressure": "1 bar(a)", "table_molar_mass": "28.96 g/mol", "table_temperature": "20 degC"}
}

var injectorSources = []Source{
	{"ISO 15873:2002 asks for such tables (pressures and flows at inlet, injector and outlet); reading by piecewise linear interpolation", Verified},
	{"gas correction: restriction law sqrt(Mt Tt/(M T)) as best, volume law Tt/T as the other end; the choice is common practice", CommonPractice},
}

func injectorCalculations() []Calculation {
	return []Calculation{injectorSuction(), injectorOutlet(), injectorInlet(), injectorLimit()}
}

func injectorSuction() Calculation {
	inlet := number("inlet_pressure", quantity.PressureAbsolute, 1, 1e8, "motive inlet, absolute")
	outlet := number("outlet_pressure", quantity.PressureAbsolute, 1, 1e8, "outlet, absolute")
	return Calculation{
		Name:    "injector-suction",
		Title:   "What a venturi injector draws, from its performance table",
		Purpose: "Suction flow at inlet, outlet and suction pressure, corrected for the gas drawn. No table, no number; never outside the table.",
		Formula: "n = table(inlet, outlet) * curve(suction)/curve(table suction) * gas factor\ngas factor: sqrt(Mt Tt/(M T)) best, Tt/T as other end of the spread",
		Inputs: slices.Concat(injectorTableInputs(), []Input{inlet, outlet,
			number("suction_pressure", quantity.PressureAbsolute, 1, 1e7, "suction port in service, absolute"),
			number("molar_mass", quantity.MolarMass, 0.002, 0.3, "molar mass of the gas drawn (oxygen 32.00 g/mol)"),
			number("temperature", quantity.Temperature, 200, 500, "temperature of the gas drawn at the suction port"),
		}),
		Outputs: []Output{
			{"suction_flow", quantity.GasFlow, "gas drawn; spread from reading, interpolation and gas correction"},
			{"table_flow", quantity.GasFlow, "flow of the table's own gas; spread from reading and interpolation"},
			{"motive_flow", quantity.LiquidFlow, "motive water flow, when the table states it"},
		},
		Sources: injectorSources,
		Checks: []Check{
			{Inputs: with(demoInputs(), "inlet_pressure", "5 bar(a)", "outlet_pressure", "3.2 bar(a)", "suction_pressure", "1 bar(a)", "molar_mass", "28.96 g/mol", "temperature", "20 degC"),
				Output: "table_flow", Want: 13.0 / 1000 / 60 * 101325 / (fluid.GasConstant * 273.15), Tolerance: 1e-9, Source: "a row of the table comes back", Status: Derived},
			{Inputs: with(demoInputs(), "inlet_pressure", "5 bar(a)", "outlet_pressure", "2 bar(a)", "suction_pressure", "0.8 bar(a)", "molar_mass", "28.96 g/mol", "temperature", "20 degC", "suction_curve", demoCurve),
				Output: "table_flow", Want: 15.0 / 1000 / 60 * 101325 / (fluid.GasConstant * 273.15), Tolerance: 1e-9, Source: "plateau times the ratio of the suction curve", Status: Derived},
		},
		Unpublished: injectorNone,
		Properties: []Property{
			{Inputs: with(demoInputs(), "inlet_pressure", "4 bar(a)", "suction_pressure", "1 bar(a)", "molar_mass", "32 g/mol", "temperature", "20 degC"),
				Key: "outlet_pressure", From: 1.4e5, To: 3.2e5, Output: "suction_flow", Trend: NotRises},
			{Inputs: with(demoInputs(), "outlet_pressure", "2 bar(a)", "suction_pressure", "1 bar(a)", "molar_mass", "32 g/mol", "temperature", "20 degC"),
				Key: "inlet_pressure", From: 3e5, To: 5e5, Output: "suction_flow", Trend: NotFalls},
			{Inputs: with(demoInputs(), "inlet_pressure", "4 bar(a)", "outlet_pressure", "2 bar(a)", "molar_mass", "32 g/mol", "temperature", "20 degC", "suction_curve", demoCurve),
				Key: "suction_pressure", From: 5e4, To: 1e5, Output: "suction_flow", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := injectorOf(v)
			if err != nil {
				return Outcome{}, err
			}
			d, err := in.Draw(v.Number("inlet_pressure"), v.Number("outlet_pressure"), v.Number("suction_pressure"),
				unitop.SuctionGas{MolarMass: v.Number("molar_mass"), Temperature: v.Number("temperature")})
			if err != nil {
				return Outcome{}, err
			}
			s := d.TableFlow
			o := Outcome{
				Numbers: map[string]fluid.Range{
					"suction_flow": d.Flow,
					"table_flow":   {Low: max(0, s.Flow-s.Error), Best: s.Flow, High: s.Flow + s.Error},
				},
				Notes: []string{fmt.Sprintf("gas factor %.4g by the restriction law (best), %.4g by the volume law", d.RestrictLaw, d.VolumeLaw)},
			}
			if _, stated := v.Rows("table")[0]["motive_flow"]; stated {
				q, err := in.Motive(v.Number("inlet_pressure"), v.Number("outlet_pressure"))
				if err != nil {
					return Outcome{}, err
				}
				o.Numbers["motive_flow"] = fluid.Exact(q)
			}
			return o, nil
		},
	}
}

// tableSuction is the suction pressure asked for, or the table's own.
func tableSuction(v Values) float64 {
	if v.Has("suction_pressure") {
		return v.Number("suction_pressure")
	}
	return v.Number("table_suction_pressure")
}

func suctionInput() Input {
	return optional(number("suction_pressure", quantity.PressureAbsolute, 1, 1e7, "suction port in service, absolute; the table's own when left out"))
}

func wantedFlow() Input {
	return number("suction_flow", quantity.GasFlow, 0, 1e5, "flow wanted, of the table's own gas")
}

func injectorOutlet() Calculation {
	return Calculation{
		Name:    "injector-outlet-for-suction",
		Title:   "Outlet pressure at which an injector draws a wanted flow",
		Purpose: "The inverse of injector-suction along the outlet pressure. A plateau or a second solution is reported, not chosen.",
		Formula: "outlet with table(inlet, outlet) * curve ratio = wanted flow, exact on the linear pieces",
		Inputs: slices.Concat(injectorTableInputs(), []Input{wantedFlow(),
			number("inlet_pressure", quantity.PressureAbsolute, 1, 1e8, "motive inlet, absolute"), suctionInput()}),
		Outputs: []Output{{"outlet_pressure", quantity.PressureAbsolute, "outlet pressure, absolute"}},
		Sources: injectorSources,
		Checks: []Check{{Inputs: with(demoInputs(), "inlet_pressure", "5 bar(a)", "suction_flow", "13 NL/min"),
			Output: "outlet_pressure", Want: 3.2e5, Tolerance: 1e-9, Source: "a row of the table comes back", Status: Derived}},
		Unpublished: injectorNone,
		Properties: []Property{{Inputs: with(demoInputs(), "inlet_pressure", "4 bar(a)"),
			Key: "suction_flow", From: 0.5 / 1000 / 60 / fluid.NormalMolarVolume, To: 16.0 / 1000 / 60 / fluid.NormalMolarVolume, Output: "outlet_pressure", Trend: Falls}},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := injectorOf(v)
			if err != nil {
				return Outcome{}, err
			}
			p, err := in.OutletForSuction(v.Number("inlet_pressure"), tableSuction(v), v.Number("suction_flow"))
			return exact("outlet_pressure", p), err
		},
	}
}

func injectorInlet() Calculation {
	return Calculation{
		Name:    "injector-inlet-for-suction",
		Title:   "Inlet pressure at which an injector draws a wanted flow",
		Purpose: "The inverse of injector-suction along the inlet pressure. A plateau or a second solution is reported, not chosen.",
		Formula: "inlet with table(inlet, outlet) * curve ratio = wanted flow, bracketed on 200 pieces between curves, then bisection",
		Inputs: slices.Concat(injectorTableInputs(), []Input{wantedFlow(),
			number("outlet_pressure", quantity.PressureAbsolute, 1, 1e8, "outlet, absolute"), suctionInput()}),
		Outputs: []Output{{"inlet_pressure", quantity.PressureAbsolute, "inlet pressure, absolute"}},
		Sources: injectorSources,
		Checks: []Check{{Inputs: with(demoInputs(), "outlet_pressure", "2 bar(a)", "suction_flow", "7 NL/min"),
			Output: "inlet_pressure", Want: 3e5, Tolerance: 1e-9, Source: "a row of the table comes back", Status: Derived}},
		Unpublished: injectorNone,
		Properties: []Property{{Inputs: with(demoInputs(), "outlet_pressure", "2 bar(a)"),
			Key: "suction_flow", From: 7.5 / 1000 / 60 / fluid.NormalMolarVolume, To: 21.0 / 1000 / 60 / fluid.NormalMolarVolume, Output: "inlet_pressure", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := injectorOf(v)
			if err != nil {
				return Outcome{}, err
			}
			p, err := in.InletForSuction(v.Number("outlet_pressure"), tableSuction(v), v.Number("suction_flow"))
			return exact("inlet_pressure", p), err
		},
	}
}

func injectorLimit() Calculation {
	return Calculation{
		Name:    "injector-limit",
		Title:   "Highest outlet pressure at which an injector still draws",
		Purpose: "Where suction ends at an inlet pressure, at the table's own suction pressure.",
		Formula: "largest outlet with table(inlet, outlet) > 0",
		Inputs:  slices.Concat(injectorTableInputs(), []Input{number("inlet_pressure", quantity.PressureAbsolute, 1, 1e8, "motive inlet, absolute")}),
		Outputs: []Output{
			{"outlet_pressure", quantity.PressureAbsolute, "highest outlet pressure with suction, absolute"},
			{"pressure_ratio", quantity.Ratio, "outlet over inlet, both absolute"},
			{"seen", 0, "yes when the table shows the end of suction, at least when it only reaches so far"},
		},
		Sources: injectorSources,
		Checks: []Check{{Inputs: with(demoInputs(), "inlet_pressure", "5 bar(a)"), Output: "pressure_ratio", Want: 0.8, Tolerance: 1e-9,
			Source: "a row of the table comes back", Status: Derived}},
		Unpublished: injectorNone,
		Properties:  []Property{{Inputs: demoInputs(), Key: "inlet_pressure", From: 3e5, To: 5e5, Output: "outlet_pressure", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := injectorOf(v)
			if err != nil {
				return Outcome{}, err
			}
			l, err := in.Limit(v.Number("inlet_pressure"))
			if err != nil {
				return Outcome{}, err
			}
			seen := "at least"
			if l.Seen {
				seen = "yes"
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"outlet_pressure": fluid.Exact(l.Outlet), "pressure_ratio": fluid.Exact(l.Ratio)},
				Words:   map[string]string{"seen": seen},
			}, nil
		},
	}
}
