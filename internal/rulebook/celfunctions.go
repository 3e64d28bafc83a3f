package rulebook

import (
	"math"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/env"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/common/types/traits"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
)

// comparisons are the order operators; ours decide on ranges, so they replace the standard ones as a whole.
var comparisons = []struct {
	operator, name string
	decide         func(a, b fact.Number) fact.Truth
}{
	{"_>=_", "at_least", fact.Number.AtLeast},
	{"_>_", "more_than", fact.Number.MoreThan},
	{"_<=_", "at_most", func(a, b fact.Number) fact.Truth { return b.AtLeast(a) }},
	{"_<_", "less_than", func(a, b fact.Number) fact.Truth { return b.MoreThan(a) }},
}

// standardLibrary is the expression language without macros, which rules need not and whose cost is hard to bound, and
// without the order operators.
func standardLibrary() cel.EnvOption {
	subset := &env.LibrarySubset{DisableMacros: true}
	for _, c := range comparisons {
		subset.ExcludeFunctions = append(subset.ExcludeFunctions, &env.Function{Name: c.operator})
	}
	// Regular expressions cost far more than they look, and "duration" is a dimension of ours.
	for _, name := range []string{"matches", "duration", "timestamp"} {
		subset.ExcludeFunctions = append(subset.ExcludeFunctions, &env.Function{Name: name})
	}
	return cel.StdLib(cel.StdLibSubset(subset))
}

// numberFunctions declares order and arithmetic for every dimension.
func numberFunctions() []cel.EnvOption {
	var options []cel.EnvOption
	dimensions := append([]quantity.Dimension{countDimension}, quantity.Dimensions()...)
	for _, c := range comparisons {
		var overloads []cel.FunctionOpt
		add := func(id string, a, b *types.Type) {
			overloads = append(overloads, cel.Overload(c.name+"_"+id, []*cel.Type{a, b}, cel.BoolType))
		}
		add("int", cel.IntType, cel.IntType)
		add("double", cel.DoubleType, cel.DoubleType)
		add("string", cel.StringType, cel.StringType)
		for _, d := range dimensions {
			t := numberTypes[d]
			add(t.TypeName(), t, t)
			switch d {
			case countDimension:
				add("count_int", t, cel.IntType)
				add("int_count", cel.IntType, t)
			case quantity.Ratio:
				add("ratio_double", t, cel.DoubleType)
				add("double_ratio", cel.DoubleType, t)
			}
		}
		overloads = append(overloads, cel.SingletonBinaryBinding(func(a, b ref.Val) ref.Val { return compare(a, b, c.decide) }))
		options = append(options, cel.Function(c.operator, overloads...))
	}
	return append(options, arithmetic(dimensions)...)
}

// compare decides an order operator.
func compare(a, b ref.Val, decide func(a, b fact.Number) fact.Truth) ref.Val {
	x, okX := asNumber(a)
	y, okY := asNumber(b)
	if !okX || !okY {
		comparer, ok := a.(traits.Comparer)
		if !ok {
			return types.MaybeNoSuchOverloadErr(b)
		}
		order := comparer.Compare(b)
		i, ok := order.(types.Int)
		if !ok {
			return order
		}
		return truthValue(decide(fact.Exactly(float64(i)), fact.Exactly(0)))
	}
	return truthValue(decide(x, y))
}

// truthValue turns a truth into a bool or an unknown that names what would decide it.
func truthValue(t fact.Truth) ref.Val {
	switch t.Value {
	case fact.True:
		return types.True
	case fact.False:
		return types.False
	}
	if len(t.Missing) == 0 {
		return unknown(t.Assumed)
	}
	return unknown(t.Missing)
}

// arithmetic declares sums, differences, factors and quotients. The standard bindings work through our values' own methods.
func arithmetic(dimensions []quantity.Dimension) []cel.EnvOption {
	var plus, minus, times, over []cel.FunctionOpt
	var least, most []cel.FunctionOpt
	op := func(id string, a, b, result *types.Type) cel.FunctionOpt {
		return cel.Overload(id, []*cel.Type{a, b}, result)
	}
	ratio := numberTypes[quantity.Ratio]
	for _, d := range dimensions {
		t := numberTypes[d]
		name := t.TypeName()
		if difference, level := differences[d]; level {
			dt := numberTypes[difference]
			plus = append(plus, op("add_difference_to_"+name, t, dt, t))
			minus = append(minus, op("subtract_"+name, t, t, dt), op("subtract_difference_from_"+name, t, dt, t))
		} else {
			plus = append(plus, op("add_"+name, t, t, t))
			minus = append(minus, op("subtract_"+name, t, t, t))
		}
		times = append(times, op("multiply_"+name+"_double", t, cel.DoubleType, t), op("multiply_"+name+"_ratio", t, ratio, t))
		if d == quantity.Ratio {
			over = append(over, op("divide_ratio", t, t, ratio))
		} else {
			over = append(over, op("divide_"+name, t, t, ratio), op("divide_"+name+"_ratio", t, ratio, t))
		}
		over = append(over, op("divide_"+name+"_double", t, cel.DoubleType, t))
		least = append(least, op("min_"+name, t, t, t))
		most = append(most, op("max_"+name, t, t, t))
	}
	pick := func(f func(a, b fact.Number) fact.Number) cel.FunctionOpt {
		return cel.SingletonBinaryBinding(func(a, b ref.Val) ref.Val {
			x, okX := a.(*number)
			y, okY := asNumber(b)
			if !okX || !okY {
				return types.MaybeNoSuchOverloadErr(a)
			}
			return newNumber(x.dimension, f(x.Number, y))
		})
	}
	return []cel.EnvOption{
		cel.Function("_+_", plus...), cel.Function("_-_", minus...), cel.Function("_*_", times...), cel.Function("_/_", over...),
		cel.Function("lesser", append(least, pick(fact.Number.Min))...),
		cel.Function("larger", append(most, pick(fact.Number.Max))...),
	}
}

// quantityFunctions declares one constructor for each dimension, as pressure_difference("30 mbar").
func quantityFunctions() []cel.EnvOption {
	var options []cel.EnvOption
	for _, d := range quantity.Dimensions() {
		options = append(options, cel.Function(d.Name(), cel.Overload("parse_"+d.Name(), []*cel.Type{cel.StringType}, numberTypes[d],
			cel.UnaryBinding(func(v ref.Val) ref.Val {
				s, ok := v.(types.String)
				if !ok {
					return types.MaybeNoSuchOverloadErr(v)
				}
				x, err := quantity.Parse(string(s), d)
				if err != nil {
					return types.NewErr("%v", err)
				}
				return newNumber(d, fact.Exactly(x))
			}))))
	}
	return options
}

// countedFunction declares counted(n, "barrier", "barriers"), which gives "1 barrier" or "2 barriers" for messages.
func countedFunction() cel.EnvOption {
	return cel.Function("counted", cel.Overload("counted_words", []*cel.Type{numberTypes[countDimension], cel.StringType, cel.StringType}, cel.StringType,
		cel.FunctionBinding(func(args ...ref.Val) ref.Val {
			n, ok := args[0].(*number)
			one, okOne := args[1].(types.String)
			many, okMany := args[2].(types.String)
			if !ok || !okOne || !okMany {
				return types.MaybeNoSuchOverloadErr(args[0])
			}
			word := many
			if n.Known() && n.Low == 1 {
				word = one
			}
			return types.String(formatNumber(countDimension, n.Number)) + " " + word
		})))
}

// isFinite tells a usable number from none.
func isFinite(x float64) bool { return !math.IsInf(x, 0) && !math.IsNaN(x) }
