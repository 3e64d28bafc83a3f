package calc

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/misspelt"
)

// GivenInput is one input as it entered a run.
type GivenInput struct {
	Input   Input
	Number  float64 // SI, for a number
	Word    string  // for a choice
	Rows    []Row   // for a table
	Assumed bool    // it was left out and the stated assumption stood in
}

// GivenOutput is one result of a run.
type GivenOutput struct {
	Output Output
	Range  fluid.Range // SI, for a number; all three equal when exact
	Word   string      // for a word
}

// Result is one run: what went in, what came out, what to bear in mind.
type Result struct {
	Calculation *Calculation
	Inputs      []GivenInput
	Outputs     []GivenOutput
	Notes       []string // notes of this run: regime, assumptions, limits met
}

// Number returns the range of the output with that key and whether it is there.
func (r *Result) Number(key string) (fluid.Range, bool) {
	for _, o := range r.Outputs {
		if o.Output.Key == key && o.Output.Dimension != 0 {
			return o.Range, true
		}
	}
	return fluid.Range{}, false
}

// Word returns the word of the output with that key and whether it is there.
func (r *Result) Word(key string) (string, bool) {
	for _, o := range r.Outputs {
		if o.Output.Key == key && o.Output.Dimension == 0 {
			return o.Word, true
		}
	}
	return "", false
}

// Run evaluates the calculation of that name. It returns an
// [UnknownNameError] for a name that does not exist, an [InputError] for an
// input at fault, and otherwise the error of the model: outside its range, no
// solution, more than one, contradictory inputs.
func Run(name string, inputs Inputs) (*Result, error) {
	c, err := Get(name)
	if err != nil {
		return nil, err
	}
	return c.Run(inputs)
}

// RunText is [Run] with every input as text: quantities with their unit,
// choices as words, tables as CSV.
func RunText(name string, texts map[string]string) (*Result, error) {
	c, err := Get(name)
	if err != nil {
		return nil, err
	}
	inputs, err := c.Read(texts)
	if err != nil {
		return nil, err
	}
	return c.Run(inputs)
}

// Run validates the inputs and evaluates the calculation.
func (c *Calculation) Run(inputs Inputs) (*Result, error) {
	values, err := c.validate(inputs)
	if err != nil {
		return nil, err
	}
	outcome, err := c.Evaluate(values)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.Name, err)
	}
	return c.result(values, outcome)
}

// result puts the outcome in the order of the outputs and refuses numbers that
// are not finite or out of order: a formula at fault must not pass for a value.
func (c *Calculation) result(values Values, outcome Outcome) (*Result, error) {
	r := &Result{Calculation: c, Notes: outcome.Notes}
	for _, in := range c.Inputs {
		if !values.Has(in.Key) {
			continue
		}
		g := GivenInput{Input: in, Assumed: values.assumed[in.Key], Word: values.inputs.Words[in.Key], Rows: values.inputs.Tables[in.Key]}
		if in.Kind == Number {
			g.Number = values.Number(in.Key)
		}
		r.Inputs = append(r.Inputs, g)
	}
	for _, out := range c.Outputs {
		if out.Dimension == 0 {
			if word, ok := outcome.Words[out.Key]; ok {
				r.Outputs = append(r.Outputs, GivenOutput{Output: out, Word: word})
			}
			continue
		}
		x, ok := outcome.Numbers[out.Key]
		if !ok {
			continue
		}
		if err := x.Check(out.Key); err != nil {
			return nil, fmt.Errorf("%s: %w", c.Name, err)
		}
		r.Outputs = append(r.Outputs, GivenOutput{Output: out, Range: x})
	}
	return r, nil
}

// validate checks keys, presence, finiteness, ranges and choices, and puts the
// stated assumptions in the place of inputs that were left out.
func (c *Calculation) validate(inputs Inputs) (Values, error) {
	if err := c.refuseUnknown(inputs); err != nil {
		return Values{}, err
	}
	v := Values{
		inputs:  Inputs{Numbers: map[string]float64{}, Words: map[string]string{}, Tables: map[string][]Row{}},
		assumed: map[string]bool{},
	}
	for _, in := range c.Inputs {
		var err error
		switch in.Kind {
		case Number:
			err = c.validateNumber(in, inputs, v)
		case Choice:
			err = c.validateWord(in, inputs, v)
		case Table:
			err = c.validateTable(in, inputs, v)
		}
		if err != nil {
			return Values{}, err
		}
	}
	return v, nil
}

// refuseUnknown returns an error for the first key, in sorted order, that the
// calculation does not have.
func (c *Calculation) refuseUnknown(inputs Inputs) error {
	given := make([]string, 0, len(inputs.Numbers)+len(inputs.Words)+len(inputs.Tables))
	for k := range inputs.Numbers {
		given = append(given, k)
	}
	for k := range inputs.Words {
		given = append(given, k)
	}
	for k := range inputs.Tables {
		given = append(given, k)
	}
	sort.Strings(given)
	for _, k := range given {
		if _, ok := c.Input(k); !ok {
			return c.unknownInput(k)
		}
	}
	return nil
}

// unknownInput builds the error for an input key that does not exist.
func (c *Calculation) unknownInput(key string) error {
	known := c.inputKeys()
	return &UnknownNameError{What: "input of " + c.Name, Name: key, Nearest: misspelt.Nearest(key, known), Known: known}
}

func (c *Calculation) validateNumber(in Input, inputs Inputs, v Values) error {
	x, ok := inputs.Numbers[in.Key]
	if !ok {
		if in.Assumed != nil {
			v.inputs.Numbers[in.Key] = *in.Assumed
			v.assumed[in.Key] = true
			return nil
		}
		return c.missing(in)
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrNotFinite, Reason: fmt.Sprintf("%g", x)}
	}
	if x < in.Low || x > in.High {
		return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrOutOfRange,
			Reason: fmt.Sprintf("%s is not within %s", formatSI(x, in.Dimension), formatSpan(in.Low, in.High, in.Dimension))}
	}
	v.inputs.Numbers[in.Key] = x
	return nil
}

func (c *Calculation) validateWord(in Input, inputs Inputs, v Values) error {
	word, ok := inputs.Words[in.Key]
	if !ok {
		return c.missing(in)
	}
	if !slices.Contains(in.Choices, word) {
		return &UnknownNameError{What: "choice of " + in.Key, Name: word, Nearest: misspelt.Nearest(word, in.Choices), Known: in.Choices}
	}
	v.inputs.Words[in.Key] = word
	return nil
}

func (c *Calculation) validateTable(in Input, inputs Inputs, v Values) error {
	rows, ok := inputs.Tables[in.Key]
	if !ok {
		return c.missing(in)
	}
	if len(rows) > maxTableRows {
		return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrOutOfRange,
			Reason: fmt.Sprintf("%d rows; at most %d are read", len(rows), maxTableRows)}
	}
	for i, row := range rows {
		for _, col := range in.Columns {
			x, ok := row[col.Key]
			if _, first := rows[0][col.Key]; !ok && !first && col.Optional {
				continue
			}
			if !ok {
				return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrMissingInput,
					Reason: fmt.Sprintf("row %d has no %s", i+1, col.Key)}
			}
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrNotFinite,
					Reason: fmt.Sprintf("row %d, column %s: %g", i+1, col.Key, x)}
			}
			if x < col.Low || x > col.High {
				return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrOutOfRange,
					Reason: fmt.Sprintf("row %d, column %s: %s is not within %s", i+1, col.Key,
						formatSI(x, col.Dimension), formatSpan(col.Low, col.High, col.Dimension))}
			}
		}
	}
	v.inputs.Tables[in.Key] = rows
	return nil
}

// missing returns the error for an input that was left out, or nothing when it
// may be.
func (c *Calculation) missing(in Input) error {
	if in.Optional {
		return nil
	}
	return &InputError{Calculation: c.Name, Key: in.Key, Kind: ErrMissingInput, Reason: in.Description}
}
