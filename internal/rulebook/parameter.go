package rulebook

import (
	"fmt"
	"math"
	"strconv"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// paramTable is the parameters of a rule, in order, as values of expressions.
type paramTable struct {
	names  []string
	values []ref.Val
}

// readParameters parses defaults and the site's changes of them.
func readParameters(rule *skidrulev1.Rule, changed map[string]string) (*paramTable, []Fault) {
	t := &paramTable{}
	var faults []Fault
	known := map[string]bool{}
	for _, p := range rule.GetParameters() {
		text := p.GetValue()
		if other, ok := changed[p.GetName()]; ok {
			text = other
		}
		known[p.GetName()] = true
		value, err := parseParameter(text, p.GetDimension())
		if err != nil {
			faults = append(faults, Fault{Rule: rule.GetId(), Field: "parameters." + p.GetName() + ".value", Message: err.Error()})
			continue
		}
		t.names = append(t.names, p.GetName())
		t.values = append(t.values, value)
	}
	for name := range changed {
		if !known[name] {
			faults = append(faults, Fault{Rule: rule.GetId(), Field: "parameters", Message: fmt.Sprintf("the rule has no parameter %q", name)})
		}
	}
	return t, faults
}

// parseParameter reads one value: a count, a truth, a word or a quantity.
func parseParameter(text, dimension string) (ref.Val, error) {
	switch dimension {
	case "count":
		n, err := strconv.ParseFloat(text, 64)
		if err != nil || n != math.Trunc(n) || math.Abs(n) > 1e9 {
			return nil, fmt.Errorf("%q is not a whole number", text)
		}
		return newNumber(countDimension, fact.Exactly(n)), nil
	case "truth":
		b, err := strconv.ParseBool(text)
		if err != nil {
			return nil, fmt.Errorf("%q is neither true nor false", text)
		}
		return types.Bool(b), nil
	case "text":
		return types.String(text), nil
	}
	d, ok := quantity.DimensionByName(dimension)
	if !ok {
		return nil, fmt.Errorf("%q is no dimension; use count, truth, text or a dimension such as pressure_gauge", dimension)
	}
	x, err := quantity.Parse(text, d)
	if err != nil {
		return nil, err
	}
	return newNumber(d, fact.Exactly(x)), nil
}

// reader reads a parameter; nil where the rule has none of the name.
func (t *paramTable) reader(name string) *reader {
	for i, n := range t.names {
		if n != name {
			continue
		}
		switch v := t.values[i].(type) {
		case *number:
			return &reader{dimension: v.dimension, number: func(*scope) fact.Number { return v.Number }}
		case types.Bool:
			return &reader{truth: func(*scope) fact.Truth { return fact.Is(bool(v)) }}
		case types.String:
			return &reader{text: func(*scope) fact.Text { return fact.Text{Value: string(v)} }}
		}
	}
	return nil
}
