package calc

import (
	"errors"
	"fmt"
	"strings"
)

var (
	// ErrUnknownName is wrapped when a calculation, an input or an output is
	// asked for that does not exist.
	ErrUnknownName = errors.New("unknown name")

	// ErrMissingInput is wrapped when a required input was left out.
	ErrMissingInput = errors.New("missing input")

	// ErrOutOfRange is wrapped when an input lies outside its valid range.
	ErrOutOfRange = errors.New("outside the valid range")

	// ErrBadText is wrapped when the text of an input cannot be read.
	ErrBadText = errors.New("cannot be read")

	// ErrNotFinite is wrapped when an input is not a finite number, or when a
	// formula gave a result that is none.
	ErrNotFinite = errors.New("not a finite number")

	// ErrSweep is wrapped when a sweep is asked for that cannot be run.
	ErrSweep = errors.New("sweep cannot be run")
)

// UnknownNameError names what was asked for and the nearest thing that exists.
type UnknownNameError struct {
	What    string   // "calculation", "input of pipe-wall", ...
	Name    string   // as given
	Nearest string   // nearest existing name; empty when none is near
	Known   []string // every existing name, in order
}

// Error describes the name and suggests one.
func (e *UnknownNameError) Error() string {
	s := fmt.Sprintf("%v: no %s %q", ErrUnknownName, e.What, e.Name)
	if e.Nearest != "" {
		return s + fmt.Sprintf("; did you mean %q?", e.Nearest)
	}
	if len(e.Known) > mostNamed {
		return s + fmt.Sprintf("; none of the %d that there are is near; list them without a name", len(e.Known))
	}
	return s + "; there are " + strings.Join(e.Known, ", ")
}

// mostNamed is how many names an error lists.
const mostNamed = 24

// Unwrap gives [ErrUnknownName].
func (e *UnknownNameError) Unwrap() error { return ErrUnknownName }

// InputError says which input of which calculation is at fault and why.
type InputError struct {
	Calculation string // name of the calculation
	Key         string // key of the input
	Reason      string // what is wrong and what would be right
	Kind        error  // ErrMissingInput, ErrOutOfRange, ErrBadText or ErrNotFinite
	Cause       error  // underlying error; nil when there is none
}

// Error describes the fault in one line.
func (e *InputError) Error() string {
	return fmt.Sprintf("%s: input %s: %v: %s", e.Calculation, e.Key, e.Kind, e.Reason)
}

// Unwrap gives the kind and the cause, so that errors.Is finds either.
func (e *InputError) Unwrap() []error {
	if e.Cause == nil {
		return []error{e.Kind}
	}
	return []error{e.Kind, e.Cause}
}
