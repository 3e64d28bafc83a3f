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

// nearest returns the known name with the smallest edit distance to name, or
// nothing when even that one is too far off to be a slip of the finger.
func nearest(name string, known []string) string {
	if len(name) > 64 {
		return ""
	}
	best, bestDistance := "", len(name)/2+1
	for _, k := range known {
		if strings.Contains(k, name) && len(name) >= 4 {
			return k
		}
		if d := distance(name, k); d < bestDistance {
			best, bestDistance = k, d
		}
	}
	return best
}

// distance counts the single-byte insertions, deletions, replacements and
// swaps of neighbours that turn a into b.
func distance(a, b string) int {
	before := make([]int, len(b)+1)
	prev := make([]int, len(b)+1)
	curr := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		curr[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			curr[j] = min(prev[j]+1, curr[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				curr[j] = min(curr[j], before[j-2]+1)
			}
		}
		before, prev, curr = prev, curr, before
	}
	return prev[len(b)]
}
