package calc

import (
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func contactCalculations() []Calculation {
	return []Calculation{ozoneContact(), bubbleTransfer(), ozoneLoss()}
}

// contactKinds are the words of the choice kind.
var contactKinds = map[string]unitop.ContactKind{
	"equilibrium": unitop.EquilibriumContact, "line": unitop.LineContact, "vessel": unitop.StirredContact,
}

func demandInputs() []Input {
	return slices.Concat(
		spread("demand", quantity.MassConcentration, 0, 50, "instantaneous ozone demand of the water"),
		spread("decay", quantity.Rate, 0, 10, "first-order decay rate of dissolved ozone"))
}

func ozoneContact() Calculation {
	base := texts("kind", "line", "oxygen", "93 vol%", "argon", "4.5 vol%", "ozone", "10 wt%", "gas_flow", "20 NL/min", "water_flow", "60 L/min",
		"temperature", "20 degC", "pressure", "3 bar(a)", "volume", "5 L", "transfer", "0.4 1/s", "demand", "0.5 mg/L", "decay", "0.001 1/s",
		"dissolved_oxygen", "9 mg/L", "dissolved_nitrogen", "15 mg/L")
	trace := texts("kind", "equilibrium", "oxygen", "0 vol%", "ozone", "0 wt%", "gas_flow", "0 mol/s", "water_flow", "1 L/s",
		"temperature", "20 degC", "pressure", "1 atm(a)", "demand", "0 mg/L", "decay", "0 1/s", "dissolved_oxygen", "96 mg/L", "dissolved_nitrogen", "0 mg/L")
	return Calculation{
		Name: "ozone-contact", Title: "Transfer of ozone in a contact vessel or line contactor",
		Purpose: "Balance of ozone, oxygen, nitrogen, argon and water vapour between gas and water flowing the same way, with demand and decay. Use the low transferred dose for disinfection and the high release for the destruct. Counter-current columns are not covered.",
		Formula: "transfer = kLa V (H y P - C) for each gas; C (Q + k V) = Q (C_in - D) + transfer; line: 300 stages in a row",
		Inputs: slices.Concat([]Input{choice("kind", "equilibrium: the bound whatever the contactor; line: plug flow; vessel: both stirred", "equilibrium", "line", "vessel")},
			mixtureInputs(), []Input{
				number("gas_flow", quantity.GasFlow, 0, 1000, "dry gas that enters"),
				number("water_flow", quantity.LiquidFlow, 1e-9, 100, "water through the contactor: the side stream, not the main flow"),
				henryTemperature(),
				number("pressure", quantity.PressureAbsolute, 1e3, fluid.GasPressureHigh, "pressure in the contactor, absolute"),
				optional(number("volume", quantity.Volume, 1e-9, 1e5, "water volume in which transfer and decay go on")),
				optional(number("transfer", quantity.Rate, 1e-9, 100, "kLa of ozone for that volume")),
				optional(number("transfer_low", quantity.Rate, 1e-9, 100, "low end of transfer")),
				optional(number("transfer_high", quantity.Rate, 1e-9, 100, "high end of transfer")),
			}, demandInputs(), []Input{
				number("dissolved_oxygen", quantity.MassConcentration, 0, 1, "oxygen in the entering water"),
				number("dissolved_nitrogen", quantity.MassConcentration, 0, 1, "nitrogen in the entering water"),
			}),
		Outputs: []Output{
			{"applied_dose", quantity.MassConcentration, "ozone in the gas per volume of water"},
			{"transferred_dose", quantity.MassConcentration, "ozone that goes into the water; spread from solubility, kLa, demand and decay"},
			{"efficiency", quantity.Ratio, "transferred over applied"},
			{"efficiency_limit", quantity.Ratio, "the same at equilibrium: the bound for co-current contact"},
			{"residual", quantity.MassConcentration, "dissolved ozone in the leaving water"},
			{"saturation", quantity.MassConcentration, "dissolved ozone in equilibrium with the entering gas"},
			{"off_gas", quantity.GasFlow, "gas that leaves, moist"},
			{"off_gas_ozone", quantity.MassFlow, "ozone that leaves with the gas"},
			{"off_gas_ozone_fraction", quantity.MoleFraction, "ozone in the leaving gas"},
			{"gas_tension", quantity.PressureAbsolute, "total pressure with which the leaving water would be in equilibrium: above the pressure further on it fizzes"},
		},
		Sources: []Source{{"two-film theory (Whitman 1923), liquid-side resistance; surface renewal (Danckwerts 1951) for the ratio of kLa", Memory}, sourceHenryO3, sourceIF97, sourceBalance},
		Notes: []string{"Ozone taken by the demand frees one O2, ozone that decays 3/2 O2.", "Applied and transferred dose are kept apart.",
			"Not computed: break-up and coalescence of bubbles. kLa is given, or estimated by bubble-transfer."},
		Unpublished: "No published worked case of the whole model was found. Held by conservation of every gas, closed forms for a trace gas, the equilibrium bound and trends.",
		Checks: []Check{
			{Inputs: trace, Output: "gas_tension", Want: 101325, Tolerance: 1e-3, Source: "supersaturated water gives off gas until its tension is the pressure", Status: Derived},
			{Inputs: base, Output: "applied_dose", Want: 20.0 / 60 / 22.41397 * 0.069541 * 47.9982, Tolerance: 1e-4, Source: "ozone of the gas over the water", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "transfer"), Key: "transfer", From: 0.01, To: 1, Output: "efficiency", Trend: Rises},
			{Inputs: without(base, "pressure"), Key: "pressure", From: 1.2e5, To: 8e5, Output: "efficiency", Trend: Rises},
			{Inputs: without(base, "gas_flow"), Key: "gas_flow", From: 8e-3, To: 5e-2, Output: "efficiency", Trend: Falls},
			{Inputs: without(base, "demand"), Key: "demand", From: 0, To: 4e-3, Output: "residual", Trend: Falls},
			{Inputs: without(base, "temperature"), Key: "temperature", From: 275, To: 312, Output: "efficiency_limit", Trend: Falls},
		},
		Evaluate: evaluateContact,
	}
}

func evaluateContact(v Values) (Outcome, error) {
	gas, err := mixtureOf(v)
	if err != nil {
		return Outcome{}, err
	}
	in, err := spreadsOf(v, "demand", "decay")
	if err != nil {
		return Outcome{}, err
	}
	c := unitop.ContactInput{
		Kind: contactKinds[v.Word("kind")], Gas: gas, GasFlow: v.Number("gas_flow"), WaterFlow: v.Number("water_flow"),
		Temperature: v.Number("temperature"), Pressure: v.Number("pressure"), Demand: in[0], Decay: in[1],
		Dissolved: unitop.Dissolved{O2: v.Number("dissolved_oxygen") / fluid.MolarMassO2, N2: v.Number("dissolved_nitrogen") / fluid.MolarMassN2},
	}
	if v.Has("volume") {
		c.Volume = v.Number("volume")
	}
	switch {
	case c.Kind == unitop.EquilibriumContact && v.Has("transfer"):
		return Outcome{}, &unitop.ContradictionError{Reason: "contact is taken at equilibrium and transfer is stated; choose line or vessel"}
	case c.Kind != unitop.EquilibriumContact && (!v.Has("transfer") || !v.Has("volume")):
		return Outcome{}, fmt.Errorf("%w: contact in a line or vessel needs volume and transfer", ErrMissingInput)
	case v.Has("transfer"):
		if c.KLa, err = spreadOf(v, "transfer"); err != nil {
			return Outcome{}, err
		}
	}
	r, err := unitop.Contact(c)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{Numbers: map[string]fluid.Range{
		"applied_dose": fluid.Exact(r.AppliedDose), "transferred_dose": r.Transferred, "efficiency": r.Efficiency, "efficiency_limit": r.Limit,
		"residual": r.Residual, "saturation": r.Saturation, "off_gas": r.OffGas, "off_gas_ozone": r.OffGasOzone.Scale(fluid.MolarMassO3),
		"off_gas_ozone_fraction": r.OzoneFraction, "gas_tension": r.GasTension,
	}}
	if r.AppliedDose == 0 {
		delete(out.Numbers, "efficiency")
		delete(out.Numbers, "efficiency_limit")
		out.Notes = append(out.Notes, "no ozone in the gas: no efficiency")
	}
	if r.Best.GasFlow == 0 {
		out.Notes = append(out.Notes, "all gas dissolves at the best values: there is no off-gas")
	}
	return out, nil
}

func bubbleTransfer() Calculation {
	base := texts("temperature", "20 degC", "gas_flow", "3 L/min", "water_flow", "60 L/min", "diameter", "1 mm")
	return Calculation{
		Name: "bubble-transfer", Title: "Estimate of kLa from hold-up and bubble size",
		Purpose: "Transfer coefficient of ozone where none was measured, within a factor of about three. Gas and water at the same velocity.",
		Formula: "kLa = kL 6 e/(d (1 - e)), e = Qg/(Qg + Ql); kL = 0.31 (g mu/rho)^(1/3) Sc^(-2/3) below 2.5 mm, 0.42 (g mu/rho)^(1/3) Sc^(-1/2) above",
		Inputs: slices.Concat([]Input{henryTemperature(),
			number("gas_flow", quantity.LiquidFlow, 1e-9, 1e3, "gas at the conditions in the line, actual volume"),
			number("water_flow", quantity.LiquidFlow, 1e-9, 1e3, "water flow"),
		}, spread("diameter", quantity.Length, 1e-4, 0.02, "bubble diameter")),
		Outputs: []Output{
			{"holdup", quantity.Ratio, "volume fraction of gas"},
			{"transfer", quantity.Rate, "kLa of ozone for the water volume; rigid bubbles at the low end, mobile ones at the high end"},
		},
		Sources:     []Source{{"Calderbank and Moo-Young, Chem. Eng. Sci. 16 (1961) 39, equations (1) and (2), in a transcription", Verified}},
		Unpublished: "No worked value of the paper was read: its equations worked by hand, the definition of hold-up and trends.",
		Checks: []Check{
			{Inputs: base, Output: "holdup", Want: 3.0 / 63, Tolerance: 1e-9, Source: "definition", Status: Derived},
			// At 20 degC: 1.0016 mPa s, 998.21 kg/m3, D 1.7081e-9 m2/s, Sc 587.43.
			{Inputs: base, Output: "transfer", Want: 0.028412, Tolerance: 1e-3,
				Source: "equation (1) by hand: kL 9.471e-5 m/s on 300 1/m", Status: Derived},
			{Inputs: with(base, "diameter", "4 mm"), Output: "transfer", Want: 0.027850, Tolerance: 1e-3,
				Source: "equation (2) by hand: kL 3.713e-4 m/s on 75 1/m", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "gas_flow"), Key: "gas_flow", From: 1e-5, To: 5e-4, Output: "transfer", Trend: Rises},
			{Inputs: without(base, "diameter"), Key: "diameter", From: 2e-4, To: 2.4e-3, Output: "transfer", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			e, err := unitop.NoSlipHoldup(v.Number("gas_flow"), v.Number("water_flow"))
			if err != nil {
				return Outcome{}, err
			}
			d, err := spreadOf(v, "diameter")
			if err != nil {
				return Outcome{}, err
			}
			k, err := unitop.BubbleKLa(v.Number("temperature"), fluid.Exact(e), d)
			return Outcome{Numbers: map[string]fluid.Range{"holdup": fluid.Exact(e), "transfer": k}}, err
		},
	}
}

func ozoneLoss() Calculation {
	const ioa = "IOA-PAG proceedings, Windsor 2004, equation 6 (log-integration method, Coffey 1994)"
	base := texts("dose", "1 mg/L", "demand", "0 mg/L", "decay", "0.1 1/min", "time", "10 min")
	return Calculation{
		Name: "ozone-loss", Title: "Ozone left in water after demand and decay, and its CT",
		Purpose: "Plug flow without further ozone: residual, mean and integrated CT. Use the transferred dose, not the applied one.",
		Formula: "C = (dose - D) exp(-k t); CT = (dose - D)(1 - exp(-k t))/k",
		Inputs: slices.Concat(spread("dose", quantity.MassConcentration, 0, 50, "transferred ozone dose"), demandInputs(),
			[]Input{number("time", quantity.Duration, 0, 1e9, "time since the dose")}),
		Outputs: []Output{
			{"residual", quantity.MassConcentration, "ozone at the end"},
			{"mean", quantity.MassConcentration, "mean over the time"},
			{"ct", quantity.Exposure, "integral of ozone over the time"},
			{"exhausted", 0, "whether the demand may take the whole dose at the adverse end: yes or no"},
		},
		Sources:     []Source{{ioa, Verified}},
		Unpublished: "A closed form; the values are evaluations of the published formula.",
		Checks: []Check{
			{Inputs: base, Output: "mean", Want: 0.63212e-3, Tolerance: 1e-3, Source: ioa, Status: Derived},
			{Inputs: texts("dose", "0.5 mg/L", "demand", "0 mg/L", "decay", "0.2 1/min", "time", "5 min"), Output: "ct", Want: 1.5803 * 0.06, Tolerance: 1e-3, Source: ioa, Status: Derived},
			{Inputs: with(base, "demand", "2 mg/L"), Output: "exhausted", WantWord: "yes", Source: "demand above dose", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "time"), Key: "time", From: 0, To: 3600, Output: "residual", Trend: Falls},
			{Inputs: without(base, "time"), Key: "time", From: 0, To: 3600, Output: "ct", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := spreadsOf(v, "dose", "demand", "decay")
			if err != nil {
				return Outcome{}, err
			}
			l, err := unitop.OzoneLossInPlugFlow(in[0], in[1], in[2], v.Number("time"))
			if err != nil {
				return Outcome{}, err
			}
			return Outcome{
				Numbers: map[string]fluid.Range{"residual": l.Residual, "mean": l.Mean, "ct": l.CT},
				Words:   map[string]string{"exhausted": yesNo(l.Exhausted)},
			}, nil
		},
	}
}

// yesNo is the word for a fact.
func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
