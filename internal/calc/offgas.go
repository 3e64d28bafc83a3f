package calc

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func offGasCalculations() []Calculation {
	return []Calculation{ventOffGas()}
}

func ventOffGas() Calculation {
	base := texts("oxygen", "93 vol%", "argon", "4.5 vol%", "ozone", "10 wt%", "feed_flow", "5 NL/min", "efficiency", "0.9",
		"dissolved", "1 NL/min", "burst", "40 NL/min", "temperature", "20 degC", "pressure", "1 atm(a)")
	return Calculation{
		Name: "off-gas", Title: "Off-gas of a vent: mean, burst, zero transfer",
		Purpose: "Flow, ozone and moisture in the three states that size pot and destruct. Zero transfer is the whole feed at full ozone, saturated with water.",
		Formula: "n = n_feed (1 - y_feed)/(1 - y_sat); mean: feed less what dissolves; burst: the vent's own full-open flow with gas of up to feed strength",
		Inputs: slices.Concat(mixtureInputs(), []Input{number("feed_flow", quantity.GasFlow, 1e-9, 1000, "dry gas that enters the contactor")},
			spread("efficiency", quantity.Ratio, 0, 1, "transfer efficiency of ozone, from ozone-contact"), []Input{
				number("dissolved", quantity.GasFlow, 0, 1000, "other gas that dissolves; negative stripping is not entered here"),
			}, spread("burst", quantity.GasFlow, 0, 1e4, "flow of the fully open vent, from burst-restriction"), []Input{
				number("temperature", quantity.Temperature, fluid.WaterTemperatureLow, fluid.WaterTemperatureHigh, "temperature of the off-gas; it is saturated with water there"),
				number("pressure", quantity.PressureAbsolute, 1e3, fluid.GasPressureHigh, "pressure at which volume and moisture are stated, absolute"),
			}),
		Outputs: []Output{
			{"mean_flow", quantity.GasFlow, "mean off-gas, moist; spread from the efficiency"},
			{"mean_ozone", quantity.MassFlow, "ozone in it"},
			{"mean_ozone_fraction", quantity.MoleFraction, "ozone in it"},
			{"zero_transfer_flow", quantity.GasFlow, "off-gas when nothing dissolves, moist"},
			{"zero_transfer_ozone", quantity.MassFlow, "ozone in it: the full output"},
			{"zero_transfer_ozone_fraction", quantity.MoleFraction, "ozone in it"},
			{"zero_transfer_volume", quantity.LiquidFlow, "actual volume flow"},
			{"burst_volume", quantity.LiquidFlow, "actual volume flow of a burst"},
			{"burst_ozone", quantity.MassFlow, "ozone in a burst; high end at feed strength"},
			{"burst_ratio", quantity.Ratio, "burst over mean flow"},
			{"water", quantity.MoleFraction, "water vapour in each of them"},
			{"zero_transfer_water", quantity.MassFlow, "water vapour carried without transfer"},
		},
		Sources:     []Source{sourceBalance, sourceIF97},
		Unpublished: "No published worked case was found; held by conservation, by the saturated water fraction and trends.",
		Checks: []Check{
			{Inputs: base, Output: "water", Want: 0.023086, Tolerance: 1e-3, Source: "saturated gas at 20 degC and 1 atm, IF97 and ideal gas", Status: Derived},
			{Inputs: base, Output: "zero_transfer_flow", Want: 5.0 / 60 / 22.41397 / (1 - 0.023086), Tolerance: 1e-4, Source: "dry feed plus its moisture", Status: Derived},
			{Inputs: with(base, "efficiency", "0"), Output: "mean_ozone", Want: 5.0 / 60 / 22.41397 * 0.069541 * 47.9982e-3, Tolerance: 1e-4, Source: "no transfer: all ozone leaves", Status: Derived},
		},
		Properties: []Property{
			{Inputs: without(base, "efficiency"), Key: "efficiency", From: 0, To: 1, Output: "mean_ozone", Trend: Falls},
			{Inputs: without(base, "efficiency"), Key: "efficiency", From: 0, To: 1, Output: "zero_transfer_ozone", Trend: Constant},
			{Inputs: without(base, "temperature"), Key: "temperature", From: 274, To: 350, Output: "zero_transfer_flow", Trend: Rises},
			{Inputs: without(base, "burst"), Key: "burst", From: 1e-3, To: 1e-1, Output: "burst_volume", Trend: Rises},
		},
		Evaluate: evaluateOffGas,
	}
}

func evaluateOffGas(v Values) (Outcome, error) {
	gas, err := mixtureOf(v)
	if err != nil {
		return Outcome{}, err
	}
	r, err := spreadsOf(v, "efficiency", "burst")
	if err != nil {
		return Outcome{}, err
	}
	t, p := v.Number("temperature"), v.Number("pressure")
	wet, err := fluid.SaturatedWaterFraction(t, p)
	if err != nil {
		return Outcome{}, err
	}
	feed, dissolved := v.Number("feed_flow"), v.Number("dissolved")
	others := feed*(1-gas.O3) - dissolved
	if others < 0 {
		return Outcome{}, &unitop.ContradictionError{Reason: "more other gas dissolves than enters"}
	}
	ozone := r[0].Map(func(e float64) float64 { return feed * gas.O3 * (1 - e) })
	in := unitop.OffGasInput{
		Feed: gas, FeedFlow: feed, Ozone: ozone, Flow: ozone.Add(fluid.Exact(others)).Scale(1 / (1 - wet)),
		Temperature: t, Pressure: p, Burst: r[1],
	}
	if in.Flow.Best > 0 {
		// What dissolves is taken from the carrier as a whole: its make-up moves
		// molar mass little, and nothing that is stated here.
		k := others / (1 - gas.O3)
		if in.Gas, err = fluid.GasFromAmounts(gas.O2*k, gas.N2*k, gas.Ar*k, ozone.Best, 0); err != nil {
			return Outcome{}, err
		}
	}
	o, err := unitop.VentOffGas(in)
	if err != nil {
		return Outcome{}, err
	}
	out := Outcome{Numbers: map[string]fluid.Range{
		"mean_flow": o.Mean.Flow, "mean_ozone": o.Mean.Ozone, "mean_ozone_fraction": o.Mean.OzoneFraction,
		"zero_transfer_flow": o.ZeroTransfer.Flow, "zero_transfer_ozone": o.ZeroTransfer.Ozone,
		"zero_transfer_ozone_fraction": o.ZeroTransfer.OzoneFraction, "zero_transfer_volume": o.ZeroTransfer.Volume,
		"burst_volume": o.Burst.Volume, "burst_ozone": o.Burst.Ozone, "burst_ratio": o.BurstRatio,
		"water": fluid.Exact(wet), "zero_transfer_water": o.ZeroTransfer.Water,
	}}
	if in.Flow.Low == 0 {
		delete(out.Numbers, "burst_ratio")
		out.Notes = append(out.Notes, "there may be no mean flow: no ratio of burst to mean")
	}
	return out, nil
}
