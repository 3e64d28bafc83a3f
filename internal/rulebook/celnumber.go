package rulebook

import (
	"fmt"
	"reflect"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/common/types/traits"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
)

// countDimension stands for plain counts among the dimensions.
const countDimension = quantity.Dimension(0)

// numberTypes holds one expression type for each dimension, so that comparing a pressure with a flow does not compile.
var numberTypes = func() map[quantity.Dimension]*types.Type {
	traitMask := traits.ComparerType | traits.AdderType | traits.SubtractorType | traits.MultiplierType | traits.DividerType
	m := map[quantity.Dimension]*types.Type{countDimension: types.NewObjectType("count", traitMask)}
	for _, d := range quantity.Dimensions() {
		m[d] = types.NewObjectType(d.Name(), traitMask)
	}
	return m
}()

// number is a fact's number as a value of an expression.
type number struct {
	fact.Number
	dimension quantity.Dimension
}

func newNumber(d quantity.Dimension, n fact.Number) *number { return &number{n, d} }

// ConvertToNative is not offered: numbers leave expressions as they are.
func (n *number) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("a %s cannot become %v", n.Type().TypeName(), t)
}

// ConvertToType gives the number itself, its type or its text.
func (n *number) ConvertToType(t ref.Type) ref.Val {
	switch t {
	case types.TypeType:
		return numberTypes[n.dimension]
	case types.StringType:
		return types.String(formatNumber(n.dimension, n.Number))
	}
	if t.TypeName() == n.Type().TypeName() {
		return n
	}
	return types.NewErr("no conversion from %s to %s", n.Type().TypeName(), t.TypeName())
}

// Equal is unknown unless both are known.
func (n *number) Equal(other ref.Val) ref.Val {
	m, ok := asNumber(other)
	if !ok {
		return types.False
	}
	if n.Known() && m.Known() {
		return types.Bool(n.Low == m.Low)
	}
	if n.High < m.Low || n.Low > m.High {
		return types.False
	}
	return unknown(fact.JoinRefs(n.Missing, m.Missing, n.Assumed, m.Assumed))
}

// Type is the type of the number's dimension.
func (n *number) Type() ref.Type { return numberTypes[n.dimension] }

// Value is the number itself.
func (n *number) Value() any { return n }

// Add adds a number of the same or a matching dimension.
func (n *number) Add(other ref.Val) ref.Val {
	m, ok := asNumber(other)
	if !ok {
		return types.MaybeNoSuchOverloadErr(other)
	}
	return newNumber(n.dimension, n.Number.Add(m))
}

// Subtract gives the difference; of two levels it is a difference of the matching kind.
func (n *number) Subtract(other ref.Val) ref.Val {
	m, ok := asNumber(other)
	if !ok {
		return types.MaybeNoSuchOverloadErr(other)
	}
	d := n.dimension
	if o, is := other.(*number); is && o.dimension == d {
		if difference, level := differences[d]; level {
			d = difference
		}
	}
	return newNumber(d, n.Sub(m))
}

// Multiply scales by a plain factor or a ratio.
func (n *number) Multiply(other ref.Val) ref.Val {
	m, ok := asNumber(other)
	if !ok {
		return types.MaybeNoSuchOverloadErr(other)
	}
	return newNumber(n.dimension, n.Mul(m))
}

// Divide gives a ratio of like numbers, or scales by a plain factor. Dividing by what may be zero gives nothing known, and
// by what is zero an error.
func (n *number) Divide(other ref.Val) ref.Val {
	m, ok := asNumber(other)
	if !ok {
		return types.MaybeNoSuchOverloadErr(other)
	}
	if m.Known() && m.Low == 0 {
		return types.NewErr("division by zero")
	}
	d := n.dimension
	if o, is := other.(*number); is && o.dimension == d {
		d = quantity.Ratio
	}
	return newNumber(d, n.Div(m))
}

// differences maps a level to the dimension of its differences.
var differences = map[quantity.Dimension]quantity.Dimension{
	quantity.PressureGauge:    quantity.PressureDifference,
	quantity.PressureAbsolute: quantity.PressureDifference,
	quantity.Temperature:      quantity.TemperatureDifference,
}

// asNumber reads a number or a plain constant.
func asNumber(v ref.Val) (fact.Number, bool) {
	switch x := v.(type) {
	case *number:
		return x.Number, true
	case types.Int:
		return fact.Exactly(float64(x)), true
	case types.Double:
		return fact.Exactly(float64(x)), true
	}
	return fact.Number{}, false
}

// formatNumber prints a number for people: one value, a range, or that it is not known.
func formatNumber(d quantity.Dimension, n fact.Number) string {
	one := func(x float64) string {
		if d == countDimension {
			return fmt.Sprintf("%g", x)
		}
		return quantity.Format(x, d, quantity.Metric)
	}
	switch {
	case n.Known():
		return one(n.Low)
	case n.Unknown():
		return "not known"
	case n.High > 1e300:
		return "at least " + one(n.Low)
	case n.Low < -1e300:
		return "at most " + one(n.High)
	}
	low, high := one(n.Low), one(n.High)
	if low == high {
		return low // the ends differ by less than is shown
	}
	return low + " to " + high
}
