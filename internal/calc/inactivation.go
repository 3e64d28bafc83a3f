package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func inactivationCalculations() []Calculation {
	return []Calculation{t10(), logInactivation(), requiredCT(), stirredInactivation()}
}

// organisms are the words of the choice organism.
var organisms = map[string]unitop.Organism{
	"giardia": unitop.Giardia, "virus": unitop.Virus, "cryptosporidium": unitop.Cryptosporidium,
}

func disinfectionInputs() []Input {
	return []Input{
		choice("organism", "what disinfection is measured on", "cryptosporidium", "giardia", "virus"),
		number("temperature", quantity.Temperature, 273.15, 303.15, "water temperature"),
		number("ph", quantity.Ratio, 6, 9, "pH; the tables hold from 6 to 9"),
	}
}

// disinfectionNotes are the cautions of every calculated inactivation.
var disinfectionNotes = []string{
	"Calculated, not credited: credit is the regulator's to give.",
	"Giardia and virus: the table of the regulation binds, column of the next lower temperature. At 1 degC the closed form asks for CT 2.69 where the table asks 2.9.",
	"Cryptosporidium: the text of 40 CFR 141.720(b) could not be read; the equation is used with 5 % to either side, within which all remembered cells lie.",
	"The closed form is optimistic for Giardia above CT of about 1 mg min/L and conservative for virus, says a critical review.",
}

var sourceEquation = Source{"US EPA 815-R-20-003 (2020), equations 4-4 to 4-7, as an independent open-source water library attributes them", CrossChecked}

func t10() Calculation {
	base := texts("volume", "1 m3", "water_flow", "3.6 m3/h", "baffling", "0.5")
	return Calculation{
		Name: "t10", Title: "T10 of a contact vessel",
		Purpose: "Time that nine tenths of the water stay at least. Baffling 0.3 poor, 0.5 average, 0.7 superior.",
		Formula: "T10 = (T10/T) V/Q",
		Inputs: slices.Concat([]Input{
			number("volume", quantity.Volume, 1e-9, 1e6, "water volume at the lowest level"),
			number("water_flow", quantity.LiquidFlow, 1e-9, 1e3, "highest water flow"),
		}, spread("baffling", quantity.Ratio, 0.01, 1, "T10/T, from a tracer test or a class")),
		Outputs:     []Output{{"t10", quantity.Duration, "T10; spread from the baffling factor"}},
		Sources:     []Source{{"US EPA disinfection profiling guidance, table of baffling factors", Verified}},
		Unpublished: "A definition; the published numbers are the baffling factors themselves.",
		Checks:      []Check{{Inputs: base, Output: "t10", Want: 500, Tolerance: 1e-12, Source: "definition", Status: Derived}},
		Properties:  []Property{{Inputs: without(base, "water_flow"), Key: "water_flow", From: 1e-4, To: 1e-2, Output: "t10", Trend: Falls}},
		Evaluate: func(v Values) (Outcome, error) {
			b, err := spreadOf(v, "baffling")
			if err != nil {
				return Outcome{}, err
			}
			t, err := unitop.T10(v.Number("volume"), v.Number("water_flow"), b)
			return Outcome{Numbers: map[string]fluid.Range{"t10": t}}, err
		},
	}
}

func logInactivation() Calculation {
	at := func(o, t, ct string) map[string]string {
		return texts("organism", o, "temperature", t, "ph", "7", "ct", ct)
	}
	const derived = "coefficients, computed independently"
	return Calculation{
		Name: "log-inactivation", Title: "Calculated log inactivation by ozone",
		Purpose: "Giardia and virus by the regulation's table, with the equation beside it; Cryptosporidium by the equation.",
		Formula: "table: log = log_table CT/CT_table; equation: log = a b^(T/degC) CT",
		Inputs:  slices.Concat(disinfectionInputs(), spread("ct", quantity.Exposure, 0, 1e6, "CT, from ozone-loss, or residual times T10")),
		Outputs: []Output{
			{"binding", quantity.Ratio, "log inactivation to use: low end for the target"},
			{"table", quantity.Ratio, "by the table, column of the next lower temperature"},
			{"interpolated", quantity.Ratio, "by the table, linear between columns"},
			{"equation", quantity.Ratio, "by the closed form"},
			{"basis", 0, "which of them binds and why"},
		},
		Sources: []Source{sourceEPA, sourceEquation},
		Notes:   disinfectionNotes,
		Checks: []Check{
			{Inputs: at("giardia", "1 degC", "2.9 mg min/L"), Output: "table", Want: 3, Tolerance: 1e-9, Source: "US EPA 815-R-20-003, table B-5", Status: Verified},
			{Inputs: at("giardia", "20 degC", "0.72 mg min/L"), Output: "table", Want: 3, Tolerance: 1e-9, Source: "US EPA 815-R-20-003, table B-5", Status: Verified},
			{Inputs: at("virus", "10 degC", "1.0 mg min/L"), Output: "table", Want: 4, Tolerance: 1e-9, Source: "US EPA 815-R-20-003, table B-6", Status: Verified},
			{Inputs: at("virus", "25 degC", "0.3 mg min/L"), Output: "table", Want: 4, Tolerance: 1e-9, Source: "US EPA 815-R-20-003, table B-6", Status: Verified},
			{Inputs: at("cryptosporidium", "10 degC", "1 mg min/L"), Output: "equation", Want: 0.10072, Tolerance: 1e-3, Source: derived, Status: Derived},
			{Inputs: at("giardia", "25 degC", "1 mg min/L"), Output: "equation", Want: 6.1989, Tolerance: 1e-3, Source: derived, Status: Derived},
			{Inputs: at("virus", "5 degC", "1 mg min/L"), Output: "equation", Want: 3.0869, Tolerance: 1e-3, Source: derived, Status: Derived},
		},
		Properties: []Property{
			{Inputs: texts("organism", "cryptosporidium", "ph", "7", "ct", "10 mg min/L"), Key: "temperature", From: 273.15, To: 303.15, Output: "binding", Trend: Rises},
			{Inputs: texts("organism", "giardia", "ph", "7", "ct", "1 mg min/L"), Key: "temperature", From: 273.15, To: 303.15, Output: "binding", Trend: NotFalls},
			{Inputs: texts("organism", "virus", "ph", "7", "temperature", "8 degC"), Key: "ct", From: 0, To: 0.2, Output: "binding", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			ct, err := spreadOf(v, "ct")
			if err != nil {
				return Outcome{}, err
			}
			in, err := unitop.LogInactivation(organisms[v.Word("organism")], v.Number("temperature"), v.Number("ph"), ct)
			if err != nil {
				return Outcome{}, err
			}
			out := Outcome{
				Numbers: map[string]fluid.Range{"binding": in.Binding, "equation": in.Equation},
				Words:   map[string]string{"basis": in.Basis},
			}
			if in.HasTable {
				out.Numbers["table"], out.Numbers["interpolated"] = in.Table, in.Interpolated
			} else {
				out.Notes = append(out.Notes, "no table is held for this organism")
			}
			if in.Beyond {
				out.Notes = append(out.Notes, "the log inactivation passes the range of the published basis: an extrapolation")
			}
			return out, nil
		},
	}
}

func requiredCT() Calculation {
	at := func(o, t, log string) map[string]string {
		return texts("organism", o, "temperature", t, "ph", "7", "log", log)
	}
	const b5, b6 = "US EPA 815-R-20-003, table B-5", "US EPA 815-R-20-003, table B-6"
	return Calculation{
		Name: "ct-required", Title: "CT that a log inactivation asks for",
		Purpose: "The inverse of log-inactivation, on the same basis.",
		Formula: "CT = log/log_table CT_table, or log/(a b^(T/degC))",
		Inputs: slices.Concat(disinfectionInputs(), []Input{
			number("log", quantity.Ratio, 0.001, 4, "log inactivation wanted; up to 3 for Giardia and Cryptosporidium, 4 for virus")}),
		Outputs: []Output{
			{"ct", quantity.Exposure, "CT to reach; 5 % to either side for Cryptosporidium"},
			{"equation", quantity.Exposure, "CT by the closed form"},
		},
		Sources: []Source{sourceEPA, sourceEquation},
		Notes:   disinfectionNotes,
		Checks: []Check{
			{Inputs: at("giardia", "0.5 degC", "3"), Output: "ct", Want: 2.9 * 0.06, Tolerance: 1e-9, Source: b5, Status: Verified},
			{Inputs: at("giardia", "5 degC", "3"), Output: "ct", Want: 1.9 * 0.06, Tolerance: 1e-9, Source: b5, Status: Verified},
			{Inputs: at("giardia", "25 degC", "3"), Output: "ct", Want: 0.48 * 0.06, Tolerance: 1e-9, Source: b5, Status: Verified},
			{Inputs: at("virus", "5 degC", "4"), Output: "ct", Want: 1.2 * 0.06, Tolerance: 1e-9, Source: b6, Status: Verified},
			{Inputs: at("virus", "15 degC", "4"), Output: "ct", Want: 0.6 * 0.06, Tolerance: 1e-9, Source: b6, Status: Verified},
		},
		Properties: []Property{
			{Inputs: texts("organism", "cryptosporidium", "ph", "7", "log", "2"), Key: "temperature", From: 273.15, To: 303.15, Output: "ct", Trend: Falls},
			{Inputs: texts("organism", "giardia", "ph", "7", "temperature", "12 degC"), Key: "log", From: 0.1, To: 3, Output: "ct", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			r, err := unitop.CTForLog(organisms[v.Word("organism")], v.Number("temperature"), v.Number("ph"), v.Number("log"))
			return Outcome{Numbers: map[string]fluid.Range{"ct": r.Binding, "equation": r.Equation}}, err
		},
	}
}

func stirredInactivation() Calculation {
	base := texts("organism", "cryptosporidium", "temperature", "10 degC", "ph", "7", "residual", "0.5 mg/L", "time", "20 min", "cells", "3")
	return Calculation{
		Name: "stirred-inactivation", Title: "Calculated log inactivation in stirred cells in a row",
		Purpose: "For a vessel without tracer test: n equal, well-stirred cells at one residual.",
		Formula: "log = n log10(1 + 2.303 k10 C T/n)",
		Inputs: slices.Concat(disinfectionInputs(), spread("residual", quantity.MassConcentration, 0, 50, "ozone in the cells"), []Input{
			number("time", quantity.Duration, 0, 1e9, "mean residence time of all cells together"),
			number("cells", quantity.Ratio, 1, 100, "number of cells, whole"),
		}),
		Outputs:     []Output{{"log", quantity.Ratio, "log inactivation by the closed-form k10"}},
		Sources:     []Source{{"US EPA LT2 Toolbox Guidance Manual (2010), chapter 11, CSTR method, formula from memory", Memory}, sourceEquation},
		Notes:       disinfectionNotes[:1],
		Unpublished: "The formula is from memory, so no value carries a hard test; held by its limits (many cells are plug flow) and trends.",
		Checks: []Check{
			{Inputs: with(base, "time", "0.001 s"), Output: "log", Want: 0.10072 * 0.5 * 0.001 / 60, Tolerance: 1e-3, Source: "limit of small CT: k10 C T", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "time"), Key: "time", From: 0, To: 3600, Output: "log", Trend: Rises},
			{Inputs: without(base, "residual"), Key: "residual", From: 0, To: 5e-3, Output: "log", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			c, err := spreadOf(v, "residual")
			if err != nil {
				return Outcome{}, err
			}
			n, err := wholeOf(v, "cells")
			if err != nil {
				return Outcome{}, err
			}
			log, err := unitop.StirredLogInactivation(organisms[v.Word("organism")], v.Number("temperature"), v.Number("ph"), c, v.Number("time"), n)
			return Outcome{Numbers: map[string]fluid.Range{"log": log}}, err
		},
	}
}
