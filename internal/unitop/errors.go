package unitop

import (
	"errors"
	"fmt"
	"strings"

	"github.com/skidrule/skidrule/internal/fluid"
)

var (
	// ErrNoSolution is wrapped where no value of the unknown meets the demand.
	ErrNoSolution = errors.New("no solution")

	// ErrTwoRoots is wrapped where more than one value of the unknown meets
	// the demand, so that the caller has to choose.
	ErrTwoRoots = errors.New("more than one solution")

	// ErrNoTable is wrapped where a model rests on a measured table that has
	// not been given: no table, no number.
	ErrNoTable = errors.New("no performance table")

	// ErrNotModelled is wrapped where the physics is outside what is modelled,
	// for example two-phase flow through a relief device.
	ErrNotModelled = errors.New("not modelled")

	// ErrContradiction is wrapped where two inputs cannot both be true.
	ErrContradiction = errors.New("contradictory inputs")
)

// NoSolutionError says what was wanted and what can be had.
type NoSolutionError struct {
	Wanted string // what was asked, with its value and unit
	Reach  string // what is possible instead
}

// Error describes the demand and the reach in one line.
func (e *NoSolutionError) Error() string {
	return fmt.Sprintf("%s: %v: %s", e.Wanted, ErrNoSolution, e.Reach)
}

// Unwrap gives [ErrNoSolution].
func (e *NoSolutionError) Unwrap() error { return ErrNoSolution }

// TwoRootsError lists the solutions found, in rising order. A solution that is
// an interval (a plateau) is given by its two ends.
type TwoRootsError struct {
	Wanted string    // what was asked, with its value and unit
	Roots  []float64 // every solution, in Unit
	Unit   string    // SI unit symbol of the roots
}

// Error lists the roots in one line.
func (e *TwoRootsError) Error() string {
	parts := make([]string, len(e.Roots))
	for i, r := range e.Roots {
		parts[i] = fmt.Sprintf("%.6g", r)
	}
	return fmt.Sprintf("%s: %v: %s %s", e.Wanted, ErrTwoRoots, strings.Join(parts, " and "), e.Unit)
}

// Unwrap gives [ErrTwoRoots].
func (e *TwoRootsError) Unwrap() error { return ErrTwoRoots }

// ContradictionError says which statements clash.
type ContradictionError struct {
	Reason string // the two statements and why they clash
}

// Error describes the clash.
func (e *ContradictionError) Error() string {
	return fmt.Sprintf("%v: %s", ErrContradiction, e.Reason)
}

// Unwrap gives [ErrContradiction].
func (e *ContradictionError) Unwrap() error { return ErrContradiction }

// limit is one checked argument: name, value, allowed range, unit.
type limit struct {
	name      string
	x         float64
	low, high float64
	unit      string
}

// within checks every limit in order and returns the first error.
func within(limits ...limit) error {
	for _, l := range limits {
		if err := fluid.Within(l.name, l.x, l.low, l.high, l.unit); err != nil {
			return err
		}
	}
	return nil
}

// positive checks that x is finite, above zero and not above high.
func positive(name string, x, high float64, unit string) error {
	if err := fluid.Within(name, x, 0, high, unit); err != nil {
		return err
	}
	return fluid.Positive(name, x, unit)
}

// above is [within] for limits whose low end, zero, is not allowed itself.
func above(limits ...limit) error {
	for _, l := range limits {
		if err := positive(l.name, l.x, l.high, l.unit); err != nil {
			return err
		}
	}
	return nil
}
