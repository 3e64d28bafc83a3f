package calc

import (
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Status says how far a source or a check value has been verified.
type Status string

// The statuses of a source, from firm to loose. Only Verified and Derived
// values are held to in tests.
const (
	Verified       Status = "verified"              // the number or formula was read in the source or in a transcription of it
	Derived        Status = "derived"               // computed from verified formulas or exact definitions
	CrossChecked   Status = "memory, cross-checked" // remembered and supported by another computation
	Memory         Status = "memory"                // remembered only
	CommonPractice Status = "common practice"       // a rule of thumb, no source
)

// Source is one published basis of a calculation.
type Source struct {
	Title  string `json:"title"`  // title, edition, equation or table
	Status Status `json:"status"` // how far it was verified
}

// Kind tells what an input holds.
type Kind string

// The kinds of input.
const (
	Number Kind = "number" // a number with a dimension
	Choice Kind = "choice" // one word of a fixed list
	Table  Kind = "table"  // rows of numbers in CSV with a header line
)

// Column is one column of a table input.
type Column struct {
	Key         string             // header of the column, lower_snake
	Dimension   quantity.Dimension // of its values, which are SI
	Description string             // what stands in it
	Low, High   float64            // valid range, SI
	Optional    bool               // may be left out, then from every row
}

// Input is one input of a calculation.
type Input struct {
	Key         string             // lower_snake, unique within the calculation
	Kind        Kind               // what it holds
	Dimension   quantity.Dimension // of a quantity
	Description string             // what it is, with gauge or absolute where it matters
	Low, High   float64            // valid range of a quantity, SI
	Optional    bool               // may be left out
	Assumed     *float64           // SI value of a quantity that stands in when left out; the result names it
	Why         string             // why that value is assumed, with its source
	Choices     []string           // the words of a choice
	Columns     []Column           // the columns of a table
}

// Output is one result of a calculation.
type Output struct {
	Key         string             // lower_snake, unique within the calculation
	Dimension   quantity.Dimension // zero for a word
	Description string             // what it is and where its spread comes from
}

// Outcome is what an evaluation hands back. A number whose three values are
// equal is exact as far as the formula goes. A key may be missing where it
// does not apply; the notes then say why.
type Outcome struct {
	Numbers map[string]fluid.Range
	Words   map[string]string
	Notes   []string
}

// Check is a worked case that the tests run: inputs as text, and what must
// come out.
type Check struct {
	Inputs    map[string]string // as a person would type them
	Output    string            // key of the output compared
	Want      float64           // expected best value, SI
	Tolerance float64           // relative, 0.01 is one per cent
	WantWord  string            // expected word, for an output without dimension
	Source    string            // where the expected value stands
	Status    Status            // how far it was verified
}

// Calculation is one registration.
type Calculation struct {
	Name    string   // lower-kebab, unique
	Title   string   // one line
	Purpose string   // what it is for and what it leaves out
	Formula string   // in plain text
	Inputs  []Input  // in the order in which they are asked
	Outputs []Output // in the order in which they are printed
	Sources []Source // every basis, with status
	Notes   []string // traps, conflicts between sources, range of validity

	// Checks are worked cases. With fewer than three published ones Unpublished
	// says why, and names the properties that the tests hold instead.
	Checks      []Check
	Unpublished string

	// Properties are the limits, balances and trends that the tests hold.
	Properties []Property

	// Evaluate computes the outcome from inputs that have been validated.
	Evaluate func(Values) (Outcome, error)
}

// Property is a statement about a calculation that the tests hold: along
// Key from From to To (SI), the best value of Output does what Trend says.
type Property struct {
	Inputs   map[string]string // the other inputs, as text
	Key      string            // input that is varied
	From, To float64           // ends, SI
	Output   string            // output watched
	Trend    Trend             // what it does
}

// Trend says how an output moves as an input rises.
type Trend string

// The trends that a property can state.
const (
	Rises    Trend = "rises"
	Falls    Trend = "falls"
	Constant Trend = "constant"
	NotFalls Trend = "rises or stays" // a plateau is allowed
	NotRises Trend = "falls or stays" // a plateau is allowed
)

// Input returns the input with that key and whether there is one.
func (c *Calculation) Input(key string) (Input, bool) {
	for _, in := range c.Inputs {
		if in.Key == key {
			return in, true
		}
	}
	return Input{}, false
}

// Output returns the output with that key and whether there is one.
func (c *Calculation) Output(key string) (Output, bool) {
	for _, out := range c.Outputs {
		if out.Key == key {
			return out, true
		}
	}
	return Output{}, false
}

// inputKeys lists the keys of the inputs in their order.
func (c *Calculation) inputKeys() []string {
	keys := make([]string, len(c.Inputs))
	for i, in := range c.Inputs {
		keys[i] = in.Key
	}
	return keys
}
