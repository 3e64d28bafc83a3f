package calc

import (
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

var valveSource = Source{"IEC 60534-2-1 (2011), flow equations for sizing control valves; worked examples 1 to 3 of its annex", Verified}

const (
	iecExample = "IEC 60534-2-1 annex, example %d, in a transcription"
	// recomputed marks a result in the digits of a public recomputation of an example, of which the printed page was not seen.
	recomputed = "data of " + iecExample + ", result recomputed"
)

func valveCalculations() []Calculation {
	return []Calculation{valveLiquid(), valveGas(), valveSizeLiquid(), valveSizeGas()}
}

func kvInput() Input {
	return number("flow_coefficient", quantity.FlowCoefficient, 1e-6, 1e5, "flow coefficient of the valve at its opening")
}

func fittingInputs() []Input {
	return []Input{
		optional(number("valve_size", quantity.Length, 1e-3, 3, "nominal size of the valve, when reducers join it to larger pipes")),
		optional(number("inlet_bore", quantity.Length, 1e-3, 5, "bore of the pipe before the valve, with valve_size")),
		optional(number("outlet_bore", quantity.Length, 1e-3, 5, "bore of the pipe behind the valve, with valve_size")),
	}
}

func fittingsOf(v Values) (*unitop.ValveReducer, error) {
	stated := 0
	for _, key := range []string{"valve_size", "inlet_bore", "outlet_bore"} {
		if v.Has(key) {
			stated++
		}
	}
	switch stated {
	case 0:
		return nil, nil
	case 3:
		return &unitop.ValveReducer{Bore: v.Number("valve_size"), Inlet: v.Number("inlet_bore"), Outlet: v.Number("outlet_bore")}, nil
	default:
		return nil, fmt.Errorf("%w: reducers need valve_size, inlet_bore and outlet_bore together", ErrMissingInput)
	}
}

func liquidInputs() []Input {
	return []Input{
		number("inlet_pressure", quantity.PressureAbsolute, 1, 1e8, "pressure before the valve, absolute"),
		number("outlet_pressure", quantity.PressureAbsolute, 0, 1e8, "pressure behind the valve, absolute"),
		number("density", quantity.Density, 300, 3000, "liquid density"),
		number("vapour_pressure", quantity.PressureAbsolute, 0, 1e8, "vapour pressure at the inlet temperature, absolute"),
		number("critical_pressure", quantity.PressureAbsolute, 1e5, 1e8, "thermodynamic critical pressure of the liquid, absolute (water 220.64 bar)"),
		number("recovery_factor", quantity.Ratio, 0.1, 1, "liquid pressure recovery factor FL of the valve"),
	}
}

func liquidStateOf(v Values) unitop.LiquidState {
	return unitop.LiquidState{Density: v.Number("density"), VapourPressure: v.Number("vapour_pressure"), CriticalPressure: v.Number("critical_pressure")}
}

func valveGasInputs() []Input {
	return slices.Concat([]Input{
		number("inlet_pressure", quantity.PressureAbsolute, 1, 1e8, "pressure before the valve, absolute"),
		number("outlet_pressure", quantity.PressureAbsolute, 0, 1e8, "pressure behind the valve, absolute"),
		gasTemperature(),
		number("choke_ratio", quantity.Ratio, 0.05, 1, "pressure drop ratio factor xT of the valve"),
	}, gasInputs())
}

const liquidFormula = "Q = Kv FP sqrt(dp/1 bar * 999.1 kg/m3/rho), dp not above (FLP/FP)^2 (p1 - FF pv)\nFF = 0.96 - 0.28 sqrt(pv/pc)"
const gasFormula = "W = Kv FP Y sqrt(x p1/1 bar * 999.1 kg/m3 * rho1), x = (p1 - p2)/p1, not above Fk xTP\nY = 1 - x/(3 Fk xTP), Fk = k/1.4"

var gasEditionNote = "With reducers the expansion factor is taken from xTP, as the edition of 2011 does; taken from xT, as before, the flow is about 2 % lower."

var turbulentNote = "Turbulent flow only: for viscous liquids and very small valves at low pressure the flow is less."

func valveLiquid() Calculation {
	water := map[string]string{"inlet_pressure": "6.8 bar(a)", "density": "965.4 kg/m3", "vapour_pressure": "70.1 kPa(a)",
		"critical_pressure": "22120 kPa(a)", "recovery_factor": "0.9", "flow_coefficient": "165 Kv"}
	return Calculation{
		Name: "valve-liquid", Title: "Liquid flow through a valve", Purpose: "Flow from Kv or Cv and pressures, with choking by vapour and reducers.",
		Formula: liquidFormula,
		Inputs:  slices.Concat([]Input{kvInput()}, liquidInputs(), fittingInputs()),
		Outputs: []Output{
			{"liquid_flow", quantity.LiquidFlow, "flow at inlet density"},
			{"choke_drop", quantity.PressureDifference, "pressure drop at which choking begins"},
			{"critical_ratio", quantity.Ratio, "liquid critical pressure ratio factor FF"},
			{"regime", 0, "choked or subcritical"},
		},
		Sources: []Source{valveSource}, Notes: []string{turbulentNote},
		Checks: []Check{
			{Inputs: with(water, "outlet_pressure", "2.2 bar(a)"), Output: "liquid_flow", Want: 0.1, Tolerance: 1e-3, Source: fmt.Sprintf(iecExample, 1), Status: Verified},
			{Inputs: with(water, "outlet_pressure", "2.2 bar(a)"), Output: "critical_ratio", Want: 0.944, Tolerance: 1e-3, Source: fmt.Sprintf(recomputed, 1), Status: Derived},
			{Inputs: with(water, "outlet_pressure", "2.2 bar(a)", "recovery_factor", "0.6", "flow_coefficient", "238 Kv"), Output: "liquid_flow", Want: 0.1, Tolerance: 1e-3, Source: fmt.Sprintf(iecExample, 2), Status: Verified},
			{Inputs: with(water, "outlet_pressure", "2.2 bar(a)", "recovery_factor", "0.6", "flow_coefficient", "238 Kv"), Output: "regime", WantWord: "choked", Source: fmt.Sprintf(iecExample, 2), Status: Verified},
		},
		Properties: []Property{
			{Inputs: water, Key: "outlet_pressure", From: 0, To: 6.8e5, Output: "liquid_flow", Trend: NotRises},
			{Inputs: without(with(water, "outlet_pressure", "5 bar(a)"), "flow_coefficient"), Key: "flow_coefficient", From: 0.1, To: 100, Output: "liquid_flow", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			fittings, err := fittingsOf(v)
			if err != nil {
				return Outcome{}, err
			}
			l := liquidStateOf(v)
			f, err := unitop.Valve{Kv: v.Number("flow_coefficient"), FL: v.Number("recovery_factor"), Fittings: fittings}.
				LiquidFlow(v.Number("inlet_pressure"), v.Number("outlet_pressure"), l)
			if err != nil {
				return Outcome{}, err
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"liquid_flow": fluid.Exact(f.Mass / l.Density), "choke_drop": fluid.Exact(f.ChokeDrop), "critical_ratio": fluid.Exact(f.CriticalRatio)},
				Words:   map[string]string{"regime": regime(f.Choked)},
			}, nil
		},
	}
}

// iecGas are the inputs of example 3 of the standard's annex.
func iecGas() map[string]string {
	return map[string]string{"inlet_pressure": "6.8 bar(a)", "outlet_pressure": "3.1 bar(a)", "temperature": "433 K", "choke_ratio": "0.60",
		"molar_mass": "44.01 g/mol", "heat_ratio": "1.30", "compressibility": "0.988", "valve_size": "50 mm", "inlet_bore": "80 mm", "outlet_bore": "100 mm"}
}

// iecGasFlow is 3800 m3/h at 0 degC and 1 atm in mol/s.
const iecGasFlow = 3800.0 / 3600 * 101325 / (fluid.GasConstant * 273.15)

func valveGas() Calculation {
	oxygen := map[string]string{"inlet_pressure": "3 bar(a)", "temperature": "293.15 K", "choke_ratio": "0.7", "gas": "oxygen", "flow_coefficient": "0.5 Kv"}
	return Calculation{
		Name: "valve-gas", Title: "Gas flow through a valve", Purpose: "Flow from Kv or Cv and pressures, with expansion, choking and reducers.",
		Formula: gasFormula,
		Inputs:  slices.Concat([]Input{kvInput()}, valveGasInputs(), fittingInputs()),
		Outputs: []Output{
			{"mass_flow", quantity.MassFlow, "mass flow"},
			{"gas_flow", quantity.GasFlow, "molar flow"},
			{"expansion_factor", quantity.Ratio, "expansion factor Y, 2/3 when choked"},
			{"choke_drop", quantity.PressureDifference, "pressure drop at which choking begins"},
			{"regime", 0, "choked or subcritical"},
		},
		Sources: []Source{valveSource}, Notes: []string{turbulentNote, gasEditionNote},
		Checks: []Check{
			{Inputs: with(iecGas(), "flow_coefficient", "72.59 Kv"), Output: "gas_flow", Want: iecGasFlow, Tolerance: 0.03, Source: fmt.Sprintf(recomputed, 3) + "; that example takes Y from xT, the edition of 2011 from xTP, which is 2.4 % apart", Status: Derived},
			{Inputs: with(iecGas(), "flow_coefficient", "70.9 Kv"), Output: "choke_drop", Want: 0.929 * 0.625 * 680e3, Tolerance: 2e-3, Source: fmt.Sprintf(iecExample, 3) + ": Fk 0.929 and xTP 0.625", Status: Verified},
			{Inputs: with(iecGas(), "flow_coefficient", "72.59 Kv"), Output: "regime", WantWord: "subcritical", Source: fmt.Sprintf(iecExample, 3), Status: Verified},
			{Inputs: with(oxygen, "outlet_pressure", "0.2 bar(a)"), Output: "expansion_factor", Want: 2.0 / 3, Tolerance: 1e-12, Source: "the standard's limit of Y", Status: Derived},
		},
		Unpublished: "One published example with three values is known; tested besides: Y ends at 2/3, flat when choked, rising with Kv.",
		Properties: []Property{
			{Inputs: oxygen, Key: "outlet_pressure", From: 0, To: 3e5, Output: "mass_flow", Trend: NotRises},
			{Inputs: without(with(oxygen, "outlet_pressure", "1 bar(a)"), "flow_coefficient"), Key: "flow_coefficient", From: 0.01, To: 10, Output: "mass_flow", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			fittings, err := fittingsOf(v)
			if err != nil {
				return Outcome{}, err
			}
			gas, err := gasOf(v, v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			f, err := unitop.Valve{Kv: v.Number("flow_coefficient"), XT: v.Number("choke_ratio"), Fittings: fittings}.
				GasFlow(v.Number("inlet_pressure"), v.Number("outlet_pressure"), v.Number("temperature"), gas)
			if err != nil {
				return Outcome{}, err
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"mass_flow": fluid.Exact(f.Mass), "gas_flow": fluid.Exact(f.Mass / gas.MolarMass),
					"expansion_factor": fluid.Exact(f.Expansion), "choke_drop": fluid.Exact(f.ChokeDrop)},
				Words: map[string]string{"regime": regime(f.Choked)},
			}, nil
		},
	}
}

func kvOutput() []Output {
	return []Output{{"flow_coefficient", quantity.FlowCoefficient, "flow coefficient needed"}}
}

func valveSizeLiquid() Calculation {
	base := map[string]string{"liquid_flow": "360 m3/h", "inlet_pressure": "6.8 bar(a)", "outlet_pressure": "2.2 bar(a)", "density": "965.4 kg/m3",
		"vapour_pressure": "70.1 kPa(a)", "critical_pressure": "22120 kPa(a)", "recovery_factor": "0.9"}
	return Calculation{
		Name: "valve-size-liquid", Title: "Flow coefficient that a liquid flow needs", Purpose: "Kv or Cv from flow and pressures, with choking and reducers.",
		Formula: liquidFormula + "\nsolved for Kv",
		Inputs:  slices.Concat([]Input{number("liquid_flow", quantity.LiquidFlow, 1e-12, 100, "flow at inlet density")}, liquidInputs(), fittingInputs()),
		Outputs: kvOutput(), Sources: []Source{valveSource}, Notes: []string{turbulentNote},
		Checks: []Check{
			{Inputs: base, Output: "flow_coefficient", Want: 165, Tolerance: 1e-3, Source: fmt.Sprintf(iecExample, 1), Status: Verified},
			{Inputs: with(base, "recovery_factor", "0.6"), Output: "flow_coefficient", Want: 238, Tolerance: 1e-3, Source: fmt.Sprintf(iecExample, 2), Status: Verified},
		},
		Unpublished: "Two published examples are known; tested besides: it inverts valve-liquid, rises with flow.",
		Properties:  []Property{{Inputs: without(base, "liquid_flow"), Key: "liquid_flow", From: 1e-4, To: 0.2, Output: "flow_coefficient", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			fittings, err := fittingsOf(v)
			if err != nil {
				return Outcome{}, err
			}
			l := liquidStateOf(v)
			kv, err := unitop.Valve{FL: v.Number("recovery_factor"), Fittings: fittings}.
				SizeLiquid(v.Number("liquid_flow")*l.Density, v.Number("inlet_pressure"), v.Number("outlet_pressure"), l)
			return exact("flow_coefficient", kv), err
		},
	}
}

func valveSizeGas() Calculation {
	base := with(iecGas(), "gas_flow", "3800 Nm3/h")
	return Calculation{
		Name: "valve-size-gas", Title: "Flow coefficient that a gas flow needs", Purpose: "Kv or Cv from flow and pressures, with expansion, choking and reducers.",
		Formula: gasFormula + "\nsolved for Kv",
		Inputs:  slices.Concat([]Input{number("gas_flow", quantity.GasFlow, 1e-12, 1e5, "molar flow")}, valveGasInputs(), fittingInputs()),
		Outputs: kvOutput(), Sources: []Source{valveSource}, Notes: []string{turbulentNote, gasEditionNote},
		Checks:      []Check{{Inputs: base, Output: "flow_coefficient", Want: 72.59, Tolerance: 0.03, Source: fmt.Sprintf(recomputed, 3) + "; that example takes Y from xT, the edition of 2011 from xTP, which is 2.4 % apart", Status: Derived}},
		Unpublished: "One published example is known; tested besides: it inverts valve-gas, rises with flow.",
		Properties:  []Property{{Inputs: without(base, "gas_flow"), Key: "gas_flow", From: 1, To: 47, Output: "flow_coefficient", Trend: Rises}},
		Evaluate: func(v Values) (Outcome, error) {
			fittings, err := fittingsOf(v)
			if err != nil {
				return Outcome{}, err
			}
			gas, err := gasOf(v, v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			kv, err := unitop.Valve{XT: v.Number("choke_ratio"), Fittings: fittings}.
				SizeGas(v.Number("gas_flow")*gas.MolarMass, v.Number("inlet_pressure"), v.Number("outlet_pressure"), v.Number("temperature"), gas)
			return exact("flow_coefficient", kv), err
		},
	}
}
