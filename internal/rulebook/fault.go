package rulebook

import "strings"

// Fault is something wrong with a rule as written. Field is its element path inside the rule; Line and Column (1-based)
// point into a condition or template where the fault lies in one, counted from its own beginning.
type Fault struct {
	Rule    string
	Field   string
	Line    int
	Column  int
	Message string
}

// Faults is everything wrong with a set of rules.
type Faults []Fault

// Error joins the faults, one a line.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Rule + ": " + f.Field + ": " + f.Message
	}
	return strings.Join(lines, "\n")
}
