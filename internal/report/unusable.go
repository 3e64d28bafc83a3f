package report

import (
	"github.com/skidrule/skidrule/internal/designfile"
)

// Unusable is a file that could not be checked, with everything that is wrong with it.
type Unusable struct {
	File     string
	Problems []designfile.Problem
	// More is the number of problems beyond those listed.
	More int
}

// ProblemLine is a problem in one line in GNU form, fit for a terminal.
func ProblemLine(p designfile.Problem) string { return clean(p.Error()) }

// Plain makes text fit for a terminal: control characters are spelt out and line breaks become spaces.
func Plain(s string) string { return clean(s) }
