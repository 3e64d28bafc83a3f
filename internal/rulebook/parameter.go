package rulebook

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// readParameters parses defaults and the site's changes of them. A value is read by name, as any other field is.
func readParameters(rule *skidrulev1.Rule, changed map[string]string) (map[string]*reader, []Fault) {
	readers, known := map[string]*reader{}, map[string]bool{}
	var faults []Fault
	for _, p := range rule.GetParameters() {
		text, name := p.GetValue(), p.GetName()
		if other, ok := changed[name]; ok {
			text = other
		}
		known[name] = true
		value, err := parseParameter(text, p.GetDimension())
		if err != nil {
			faults = append(faults, Fault{Field: "parameters." + name + ".value", Message: err.Error()})
		} else if readers[name] == nil {
			readers[name] = value
		}
	}
	for _, name := range slices.Sorted(maps.Keys(changed)) {
		if !known[name] {
			faults = append(faults, Fault{Field: "parameters", Message: fmt.Sprintf("the rule has no parameter %q", name)})
		}
	}
	return readers, faults
}

// parseParameter reads one value: a count, a truth, a word or a quantity.
func parseParameter(text, dimension string) (*reader, error) {
	switch dimension {
	case "count":
		n, err := strconv.ParseFloat(text, 64)
		if err != nil || n != math.Trunc(n) || math.Abs(n) > 1e9 {
			return nil, fmt.Errorf("%q is not a whole number", text)
		}
		return always(countDimension, n), nil
	case "truth":
		b, err := strconv.ParseBool(text)
		if err != nil {
			return nil, fmt.Errorf("%q is neither true nor false", text)
		}
		return &reader{truth: func(*scope) fact.Truth { return fact.Is(b) }}, nil
	case "text":
		return &reader{text: func(*scope) fact.Text { return fact.Text{Value: text} }}, nil
	}
	d, ok := quantity.DimensionByName(dimension)
	if !ok {
		return nil, fmt.Errorf("%q is no dimension; use count, truth, text or a dimension such as pressure_gauge", dimension)
	}
	x, err := quantity.Parse(text, d)
	if err != nil {
		return nil, err
	}
	return always(d, x), nil
}

// always reads one number.
func always(d quantity.Dimension, x float64) *reader {
	n := fact.Exactly(x)
	return &reader{dimension: d, number: func(*scope) fact.Number { return n }}
}
