package calc

import "math"

// Row is one row of a table input: column key to SI value.
type Row map[string]float64

// Inputs are the inputs of a run after reading: SI numbers, words and tables.
type Inputs struct {
	Numbers map[string]float64
	Words   map[string]string
	Tables  map[string][]Row
}

// Values are validated inputs as an evaluation sees them: every required input
// is there, every number is finite and in range, every word is a choice.
type Values struct {
	inputs  Inputs
	assumed map[string]bool
}

// Number returns the SI value of a quantity input. For an input that was left
// out it returns NaN, which a run refuses in its results: ask [Values.Has]
// first.
func (v Values) Number(key string) float64 {
	x, ok := v.inputs.Numbers[key]
	if !ok {
		return math.NaN()
	}
	return x
}

// Word returns the word of a choice input, or nothing if it was left out.
func (v Values) Word(key string) string { return v.inputs.Words[key] }

// Rows returns the rows of a table input, or nothing if it was left out.
func (v Values) Rows(key string) []Row { return v.inputs.Tables[key] }

// Has tells whether an input was given or has an assumed value.
func (v Values) Has(key string) bool {
	if _, ok := v.inputs.Numbers[key]; ok {
		return true
	}
	if _, ok := v.inputs.Words[key]; ok {
		return true
	}
	_, ok := v.inputs.Tables[key]
	return ok
}
