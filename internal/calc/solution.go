package calc

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
)

func solutionCalculations() []Calculation {
	return []Calculation{ozoneSolubility(), airSolubility(), waterDiffusivity(), ozoneDecay()}
}

// henryTemperature is the water temperature of the solubility functions.
func henryTemperature() Input {
	return number("temperature", quantity.Temperature, fluid.HenryTemperatureLow, fluid.HenryTemperatureHigh, "water temperature")
}

func ozoneSolubility() Calculation {
	at := func(t, p, x string) map[string]string {
		return texts("temperature", t, "pressure", p, "ozone", x)
	}
	const sander = "Hcp R T from Sander 2023, JPL 2019"
	return Calculation{
		Name: "ozone-solubility", Title: "Ozone that water can hold against a gas",
		Purpose: "Henry's law: solubility, ratio of concentrations, and saturation at the partial pressure of ozone in the gas.",
		Formula: "C = H y (p - p_vapour) M; H(T) = 1.0e-4 exp(2800 K (1/T - 1/298.15 K)) mol/(m3 Pa)",
		Inputs: []Input{henryTemperature(),
			number("pressure", quantity.PressureAbsolute, 1e3, fluid.GasPressureHigh, "pressure of the gas over the water, absolute"),
			number("ozone", quantity.MoleFraction, 0, 1, "ozone in the dry gas"),
		},
		Outputs: []Output{
			{"solubility", quantity.HenrySolubility, "Henry's constant; ends of six published correlations"},
			{"ratio", quantity.Ratio, "concentration in water over that in gas at equilibrium"},
			{"saturation", quantity.MassConcentration, "dissolved ozone at equilibrium with the gas once it is moist"},
			{"saturation_dry", quantity.MassConcentration, "the same with the gas taken as dry, as handbooks do"},
		},
		Sources: []Source{sourceHenryO3},
		Notes: []string{"Published constants at 25 degC lie 24 % below to 20 % above the best one. Solubility tables in circulation conflict; some hold a decimal slip.",
			"Valid in pure water below about pH 8; salts lower it."},
		Unpublished: "One independent published saturation value (570 mg/L); the other values follow from the compiled correlations.",
		Checks: []Check{
			{Inputs: at("20 degC", "1 atm(a)", "100 vol%"), Output: "saturation_dry", Want: 0.570, Tolerance: 0.03, Source: "Kinman 1975 in US EPA 815-R-99-014, chapter 3", Status: Verified},
			{Inputs: at("5 degC", "1 bar(a)", "10 vol%"), Output: "ratio", Want: 0.4543, Tolerance: 1e-3, Source: sander, Status: Derived},
			{Inputs: at("25 degC", "1 bar(a)", "10 vol%"), Output: "ratio", Want: 0.2479, Tolerance: 1e-3, Source: sander, Status: Derived},
			{Inputs: at("25 degC", "1 bar(a)", "10 vol%"), Output: "solubility", Want: 1.0e-4, Tolerance: 1e-9, Source: "Sander 2023, JPL 2019 as recommended", Status: Verified},
			{Inputs: at("20 degC", "1 atm(a)", "6.8966 vol%"), Output: "saturation_dry", Want: 39.4e-3, Tolerance: 5e-3, Source: sander, Status: Derived},
		},
		Properties: []Property{
			{Inputs: texts("pressure", "2 bar(a)", "ozone", "7 vol%"), Key: "temperature", From: 274, To: 313, Output: "saturation", Trend: Falls},
			{Inputs: texts("temperature", "20 degC", "ozone", "7 vol%"), Key: "pressure", From: 1e5, To: 1e6, Output: "saturation", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			t, p, y := v.Number("temperature"), v.Number("pressure"), v.Number("ozone")
			h, err := fluid.HenryOzone(t)
			if err != nil {
				return Outcome{}, err
			}
			ratio, err := fluid.SolubilityRatio(h, t)
			if err != nil {
				return Outcome{}, err
			}
			wet, err := fluid.SaturatedWaterFraction(t, p)
			if err != nil {
				return Outcome{}, err
			}
			moist, err := fluid.OzoneSaturation(t, y*(1-wet)*p)
			if err != nil {
				return Outcome{}, err
			}
			dry, err := fluid.OzoneSaturation(t, y*p)
			return Outcome{Numbers: map[string]fluid.Range{"solubility": h, "ratio": ratio, "saturation": moist, "saturation_dry": dry}}, err
		},
	}
}

func airSolubility() Calculation {
	const table = "table of dissolved oxygen, fresh water at 1 atm (Benson and Krause; APHA 4500-O)"
	at := func(t string) map[string]string { return texts("temperature", t) }
	return Calculation{
		Name: "air-gas-solubility", Title: "Solubility of oxygen, nitrogen and argon in water",
		Purpose: "Henry's constants, and the oxygen that fresh water holds under air at one atmosphere.",
		Formula: "ln C = A + B/T + C/T2 + D/T3 + E/T4 (oxygen); ln x = a + b/tau + c ln tau (nitrogen, argon)",
		Inputs:  []Input{henryTemperature()},
		Outputs: []Output{
			{"oxygen_saturation", quantity.MassConcentration, "dissolved oxygen under moist air at 1 atm"},
			{"oxygen", quantity.HenrySolubility, "oxygen; spread 0.5 %"},
			{"nitrogen", quantity.HenrySolubility, "nitrogen; spread 2 %"},
			{"argon", quantity.HenrySolubility, "argon; spread 3 %"},
		},
		Sources: []Source{{"Benson and Krause, Limnol. Oceanogr. 29 (1984) 620, as in APHA Standard Methods 4500-O", Verified},
			{"IUPAC Solubility Data Series 10 (1982), nitrogen", Verified}, {"IUPAC Solubility Data Series 4 (1980), argon; within 1.1 % of Weiss, Deep-Sea Res. 17 (1970) 721", CrossChecked}},
		Notes: []string{"The two-digit 1.3e-5 mol/(m3 Pa) of compilations is 3.5 % high for oxygen and is not used."},
		Checks: []Check{
			{Inputs: at("0 degC"), Output: "oxygen_saturation", Want: 14.621e-3, Tolerance: 5e-4, Source: table, Status: Verified},
			{Inputs: at("16 degC"), Output: "oxygen_saturation", Want: 9.870e-3, Tolerance: 5e-4, Source: table, Status: Verified},
			{Inputs: at("24 degC"), Output: "oxygen_saturation", Want: 8.418e-3, Tolerance: 5e-4, Source: table, Status: Verified},
			{Inputs: at("30 degC"), Output: "oxygen_saturation", Want: 7.559e-3, Tolerance: 5e-4, Source: "equation, computed independently", Status: Derived},
		},
		Properties: []Property{
			{Inputs: texts(), Key: "temperature", From: 274, To: 313, Output: "nitrogen", Trend: Falls},
			{Inputs: texts(), Key: "temperature", From: 274, To: 313, Output: "argon", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			t := v.Number("temperature")
			c, err := fluid.OxygenSaturation(t)
			if err != nil {
				return Outcome{}, err
			}
			out := exact("oxygen_saturation", c)
			for _, f := range []struct {
				key string
				of  func(float64) (fluid.Range, error)
			}{{"oxygen", fluid.HenryOxygen}, {"nitrogen", fluid.HenryNitrogen}, {"argon", fluid.HenryArgon}} {
				if out.Numbers[f.key], err = f.of(t); err != nil {
					return Outcome{}, err
				}
			}
			return out, nil
		},
	}
}

func waterDiffusivity() Calculation {
	at := func(t string) map[string]string { return texts("temperature", t) }
	const (
		han     = "Han and Bartels 1996, computed independently"
		johnson = "Johnson and Davis 1996, computed independently"
		crc     = "CRC Handbook, diffusion of gases in water, in a transcription"
	)
	return Calculation{
		Name: "water-diffusivity", Title: "Diffusivity of ozone, oxygen, nitrogen and argon in water",
		Purpose: "For transfer coefficients.",
		Formula: "oxygen log10 D = -4.410 + 773.8/T - (506.4/T)^2 cm2/s; ozone 1.10e-6 exp(-1896 K/T) m2/s; nitrogen, argon Wilke-Chang",
		Inputs:  []Input{henryTemperature()},
		Outputs: []Output{
			{"ozone", quantity.Diffusivity, "ozone; spread 15 %"},
			{"oxygen", quantity.Diffusivity, "oxygen; spread 5 %"},
			{"nitrogen", quantity.Diffusivity, "nitrogen; spread 15 %"},
			{"argon", quantity.Diffusivity, "argon; spread 20 %"},
		},
		Sources: []Source{{"Han and Bartels, J. Phys. Chem. 100 (1996) 5597, oxygen", Verified},
			{"Johnson and Davis, J. Chem. Eng. Data 41 (1996) 1485, ozone, in transcriptions", Verified},
			{"Wilke and Chang, AIChE J. 1 (1955) 264, with Hayduk and Laudie's factor 2.26; molar volumes from memory", CrossChecked}},
		Unpublished: "The published equations of oxygen and ozone were verified, no printed table of them was read; held by independent evaluation and trends.",
		Checks: []Check{
			{Inputs: at("10 degC"), Output: "oxygen", Want: 1.331e-9, Tolerance: 2e-3, Source: han, Status: Derived},
			{Inputs: at("20 degC"), Output: "oxygen", Want: 1.760e-9, Tolerance: 2e-3, Source: han, Status: Derived},
			{Inputs: at("30 degC"), Output: "oxygen", Want: 2.250e-9, Tolerance: 2e-3, Source: han, Status: Derived},
			{Inputs: at("10 degC"), Output: "ozone", Want: 1.359e-9, Tolerance: 2e-3, Source: johnson, Status: Derived},
			{Inputs: at("25 degC"), Output: "ozone", Want: 1.904e-9, Tolerance: 2e-3, Source: johnson, Status: Derived},
			{Inputs: at("25 degC"), Output: "nitrogen", Want: 2.0e-9, Tolerance: 0.05, Source: crc, Status: Verified},
		},
		Properties: []Property{
			{Inputs: texts(), Key: "temperature", From: 274, To: 313, Output: "ozone", Trend: Rises},
			{Inputs: texts(), Key: "temperature", From: 274, To: 313, Output: "nitrogen", Trend: Rises},
		},
		Evaluate: func(v Values) (Outcome, error) {
			out := Outcome{Numbers: map[string]fluid.Range{}}
			for _, f := range []struct {
				key string
				of  func(float64) (fluid.Range, error)
			}{
				{"ozone", fluid.DiffusivityOzone}, {"oxygen", fluid.DiffusivityOxygen},
				{"nitrogen", fluid.DiffusivityNitrogen}, {"argon", fluid.DiffusivityArgon},
			} {
				var err error
				if out.Numbers[f.key], err = f.of(v.Number("temperature")); err != nil {
					return Outcome{}, err
				}
			}
			return out, nil
		},
	}
}

func ozoneDecay() Calculation {
	base := texts("half_life", "20 min", "reference", "20 degC", "temperature", "20 degC", "activation_energy", "47 kJ/mol")
	return Calculation{
		Name: "ozone-decay", Title: "Decay rate of dissolved ozone at another temperature",
		Purpose: "First-order law from a measured half-life; waters differ by more than ten times, so there is no default.",
		Formula: "k = ln 2/t_half exp(-E/R (1/T - 1/Tref))",
		Inputs: slices.Concat(spread("half_life", quantity.Duration, 0.07, 1e9, "measured half-life of ozone in this water"), []Input{
			number("reference", quantity.Temperature, fluid.HenryTemperatureLow, fluid.HenryTemperatureHigh, "temperature at which it was measured")},
			spread("activation_energy", quantity.MolarEnergy, 0, 150e3, "activation energy; widely copied half-lives imply about 47 kJ/mol"),
			[]Input{henryTemperature()}),
		Outputs: []Output{
			{"rate", quantity.Rate, "decay rate; spread from half-life and activation energy"},
			{"half_life_at_temperature", quantity.Duration, "half-life at the temperature"},
		},
		Sources:     []Source{{"first-order kinetics, Arrhenius", Derived}},
		Notes:       []string{"A widely copied table for pH 7 without demand (30 min at 15, 15 min at 25, 8 min at 35 degC) names no primary source."},
		Unpublished: "A parameter law: its parameters are measured on the water in question. Held by closed forms and trends.",
		Checks: []Check{
			{Inputs: base, Output: "rate", Want: math.Ln2 / 1200, Tolerance: 1e-12, Source: "ln 2 over the half-life", Status: Derived},
			{Inputs: with(base, "temperature", "30 degC"), Output: "rate", Want: math.Ln2 / 1200 * math.Exp(47e3/fluid.GasConstant*(1/293.15-1/303.15)), Tolerance: 1e-9, Source: "closed form", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "temperature"), Key: "temperature", From: 274, To: 313, Output: "rate", Trend: Rises},
			{Inputs: without(base, "half_life"), Key: "half_life", From: 60, To: 7200, Output: "rate", Trend: Falls},
		},
		Evaluate: func(v Values) (Outcome, error) {
			in, err := spreadsOf(v, "half_life", "activation_energy")
			if err != nil {
				return Outcome{}, err
			}
			d, err := fluid.DecayFromHalfLife(in[0], v.Number("reference"), in[1])
			if err != nil {
				return Outcome{}, err
			}
			k, err := d.At(v.Number("temperature"))
			if err != nil {
				return Outcome{}, err
			}
			return Outcome{Numbers: map[string]fluid.Range{
				"rate": k, "half_life_at_temperature": k.Map(func(k float64) float64 { return math.Ln2 / k }),
			}}, nil
		},
	}
}
