package rulebook

// Fault is something wrong with a rule as written. Field is its element path inside the rule; Line and Column (1-based)
// point into a condition or template where the fault lies in one, counted from its own beginning.
type Fault struct {
	Field   string
	Line    int
	Column  int
	Message string
}
