package calc

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// spread declares a number with a best value and optional ends.
func spread(key string, d quantity.Dimension, low, high float64, description string) []Input {
	return []Input{
		number(key, d, low, high, description),
		optional(number(key+"_low", d, low, high, "low end of "+key+"; the best value when left out")),
		optional(number(key+"_high", d, low, high, "high end of "+key+"; the best value when left out")),
	}
}

// spreadOf reads what [spread] declares: the best value, which is also the end that is left out.
func spreadOf(v Values, key string) (fluid.Range, error) {
	best := v.Number(key)
	r := fluid.Exact(best)
	if v.Has(key + "_low") {
		r.Low = v.Number(key + "_low")
	}
	if v.Has(key + "_high") {
		r.High = v.Number(key + "_high")
	}
	if r.Low > best || r.High < best {
		return fluid.Range{}, &unitop.ContradictionError{Reason: fmt.Sprintf("%s: %g, %g and %g are not low, best, high", key, r.Low, best, r.High)}
	}
	return r, nil
}

// spreadsOf reads several [spread] inputs in the order of the keys.
func spreadsOf(v Values, keys ...string) ([]fluid.Range, error) {
	all := make([]fluid.Range, len(keys))
	for i, key := range keys {
		var err error
		if all[i], err = spreadOf(v, key); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// mixtureInputs say what a gas is made of; what is left is nitrogen.
func mixtureInputs() []Input {
	return []Input{
		number("oxygen", quantity.MoleFraction, 0, 1, "oxygen in the dry gas before ozone is made of it; air has 20.95 vol%"),
		assumed(number("argon", quantity.MoleFraction, 0, 1, "argon in the dry gas before ozone is made; the rest is nitrogen"), 0, "counted as nitrogen; its properties differ little"),
		assumed(number("ozone", quantity.MassFraction, 0, 0.3, "ozone in the dry gas"), 0, "gas without ozone"),
	}
}

// wetMixtureInputs are [mixtureInputs] with water vapour.
func wetMixtureInputs() []Input {
	return append(mixtureInputs(),
		assumed(number("water", quantity.MoleFraction, 0, 0.95, "water vapour in the gas"), 0, "dry gas"))
}

// mixtureOf reads [mixtureInputs] or [wetMixtureInputs].
func mixtureOf(v Values) (fluid.Gas, error) {
	g, err := fluid.DryOxygen(v.Number("oxygen"), v.Number("argon"))
	if err != nil {
		return fluid.Gas{}, err
	}
	if w := v.Number("ozone"); w > 0 {
		if g, err = g.WithOzone(w); err != nil {
			return fluid.Gas{}, err
		}
	}
	if v.Has("water") {
		return g.WithWater(v.Number("water"))
	}
	return g, nil
}

// Sources that several topics share.
var (
	sourceIF97    = Source{"IAPWS R7-97(2012), industrial formulation, regions 1 and 4", Verified}
	sourceIce     = Source{"IAPWS R14-08(2011), sublimation pressure, equation 6", Verified}
	sourceShomate = Source{"NIST Chemistry WebBook (Chase 1998), Shomate equations; ozone 142.67 kJ/mol", Verified}
	sourceHenryO3 = Source{"R. Sander, Atmos. Chem. Phys. 23 (2023) 10901, v5.0.0: six correlations, JPL 2019 as best", Verified}
	sourceEPA     = Source{"US EPA 815-R-20-003 (2020), tables B-5 and B-6; 40 CFR 141.74", Verified}
	sourceBalance = Source{"mass balance", Derived}
)
