package calc

import (
	"fmt"
	"maps"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// number declares a required number.
func number(key string, d quantity.Dimension, low, high float64, description string) Input {
	return Input{Key: key, Kind: Number, Dimension: d, Low: low, High: high, Description: description}
}

// optional makes an input one that may be left out.
func optional(in Input) Input {
	in.Optional = true
	return in
}

// assumed makes an input one that is taken as x when left out, and why.
func assumed(in Input, x float64, why string) Input {
	in.Assumed, in.Why = &x, why
	return in
}

// choice declares a required word.
func choice(key, description string, words ...string) Input {
	return Input{Key: key, Kind: Choice, Choices: words, Description: description}
}

// exact is the outcome of one exact number.
func exact(key string, x float64) Outcome {
	return Outcome{Numbers: map[string]fluid.Range{key: fluid.Exact(x)}}
}

// gasInputs are the inputs that say which gas flows.
func gasInputs() []Input {
	return []Input{
		optional(choice("gas", "gas that flows; or state molar_mass and heat_ratio instead", "air", "argon", "nitrogen", "oxygen")),
		optional(number("molar_mass", quantity.MolarMass, 0.002, 0.3, "molar mass of another gas")),
		optional(number("heat_ratio", quantity.Ratio, 1.01, 1.67, "heat capacity ratio cp/cv of another gas")),
		assumed(number("compressibility", quantity.Ratio, 0.2, 1.5, "compressibility factor Z"), 1, "ideal gas"),
	}
}

// gasOf reads [gasInputs] at a temperature in K.
func gasOf(v Values, temperature float64) (unitop.Gas, error) {
	z := v.Number("compressibility")
	stated := v.Has("molar_mass") || v.Has("heat_ratio")
	switch {
	case v.Has("gas") && stated:
		return unitop.Gas{}, &unitop.ContradictionError{Reason: "gas is named and molar_mass or heat_ratio is stated; give one or the other"}
	case v.Has("gas"):
		return namedGas(v.Word("gas"), temperature, z)
	case v.Has("molar_mass") && v.Has("heat_ratio"):
		return unitop.Gas{MolarMass: v.Number("molar_mass"), HeatRatio: v.Number("heat_ratio"), Compressibility: z}, nil
	default:
		return unitop.Gas{}, fmt.Errorf("%w: name the gas, or state both molar_mass and heat_ratio", ErrMissingInput)
	}
}

// mixtures are the compositions behind the words of the choice gas.
var mixtures = map[string]fluid.Gas{
	"air":      fluid.DryAir(),
	"argon":    {Ar: 1},
	"nitrogen": {N2: 1},
	"oxygen":   {O2: 1},
}

func namedGas(name string, temperature, z float64) (unitop.Gas, error) {
	mixture := mixtures[name]
	m, err := mixture.MolarMass()
	if err != nil {
		return unitop.Gas{}, err
	}
	k, err := mixture.HeatCapacityRatio(temperature)
	if err != nil {
		return unitop.Gas{}, err
	}
	return unitop.Gas{MolarMass: m, HeatRatio: k, Compressibility: z}, nil
}

// coefficientInputs are a best discharge coefficient and its ends.
func coefficientInputs() []Input {
	return spread("discharge_coefficient", quantity.Ratio, 0.05, 1, "discharge coefficient, best value; about 0.6 for a sharp edge, up to 0.84 when choked, 0.97 for a rounded nozzle")
}

// texts makes a map of inputs from pairs of key and text.
func texts(pairs ...string) map[string]string { return with(map[string]string{}, pairs...) }

// with returns a copy of the texts in which, by pairs of key and text, keys have other texts.
func with(texts map[string]string, pairs ...string) map[string]string {
	c := maps.Clone(texts)
	for i := 0; i+1 < len(pairs); i += 2 {
		c[pairs[i]] = pairs[i+1]
	}
	return c
}

// without returns a copy of the texts that lacks a key.
func without(texts map[string]string, key string) map[string]string {
	c := maps.Clone(texts)
	delete(c, key)
	return c
}

// wholeOf reads a number that must be whole.
func wholeOf(v Values, key string) (int, error) {
	x := v.Number(key)
	if x != math.Trunc(x) {
		return 0, &unitop.ContradictionError{Reason: key + " is not a whole number"}
	}
	return int(x), nil
}
