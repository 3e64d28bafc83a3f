package rulebook

import (
	"errors"
	"math"
	"slices"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/ast"
	"cel.dev/cel-go/common/types"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
)

// Conditions are parsed and checked by the expression language's own library. What they come down to is comparisons and
// arithmetic over ranges, joined by and, or and not, so a checked condition is turned into functions over these types once
// more: without boxed values an evaluation costs a small part of the general interpreter's. Whatever this knows nothing of
// is left to the interpreter, and a test holds both to the same answers.

type (
	truthFunc  func(*scope) fact.Truth
	numberFunc func(*scope) fact.Number
	textFunc   func(*scope) fact.Text
)

// errDivision is what a division by zero stops an evaluation with.
var errDivision = errors.New("division by zero")

// directer turns checked expressions into functions.
type directer struct {
	words *vocabulary
	types map[int64]*types.Type
}

// direct gives a condition as a function; nil where the interpreter must do it.
func direct(words *vocabulary, checked *cel.Ast) truthFunc {
	native := checked.NativeRep()
	d := &directer{words: words, types: native.TypeMap()}
	return d.truth(native.Expr())
}

// read finds the reader behind a selection such as it.max_pressure.
func (d *directer) read(e ast.Expr) *reader {
	if e.Kind() != ast.SelectKind || e.AsSelect().IsTestOnly() || e.AsSelect().Operand().Kind() != ast.IdentKind {
		return nil
	}
	operand := e.AsSelect().Operand()
	t := d.types[operand.ID()]
	if t == nil || !d.words.known(t.TypeName()) {
		return nil
	}
	return d.words.reader(t.TypeName(), e.AsSelect().FieldName())
}

// truth turns an expression of type bool into a function; nil where it cannot.
func (d *directer) truth(e ast.Expr) truthFunc {
	switch e.Kind() {
	case ast.LiteralKind:
		if b, ok := e.AsLiteral().(types.Bool); ok {
			t := fact.Is(bool(b))
			return func(*scope) fact.Truth { return t }
		}
	case ast.SelectKind:
		if r := d.read(e); r != nil && r.truth != nil {
			return r.truth
		}
	case ast.CallKind:
		return d.truthCall(e)
	}
	return nil
}

func (d *directer) truthCall(e ast.Expr) truthFunc {
	call := e.AsCall()
	args := call.Args()
	switch name := call.FunctionName(); name {
	case "_&&_", "_||_":
		a, b := d.truth(args[0]), d.truth(args[1])
		if a == nil || b == nil {
			return nil
		}
		if name == "_&&_" {
			return func(s *scope) fact.Truth {
				t := a(s)
				if t.Value == fact.False {
					return t
				}
				return t.And(b(s))
			}
		}
		return func(s *scope) fact.Truth {
			t := a(s)
			if t.Value == fact.True {
				return t
			}
			return t.Or(b(s))
		}
	case "!_":
		if a := d.truth(args[0]); a != nil {
			return func(s *scope) fact.Truth { return a(s).Not() }
		}
	case "_?_:_":
		c, a, b := d.truth(args[0]), d.truth(args[1]), d.truth(args[2])
		if c == nil || a == nil || b == nil {
			return nil
		}
		return func(s *scope) fact.Truth {
			switch t := c(s); t.Value {
			case fact.True:
				return a(s)
			case fact.False:
				return b(s)
			default:
				return t
			}
		}
	case "_==_":
		return d.equal(args[0], args[1])
	case "_!=_":
		if f := d.equal(args[0], args[1]); f != nil {
			return func(s *scope) fact.Truth { return f(s).Not() }
		}
	case "@in":
		return d.among(args[0], args[1])
	default:
		for _, c := range comparisons {
			if c.operator == name {
				return d.compare(args[0], args[1], c.decide)
			}
		}
	}
	return nil
}

func (d *directer) compare(x, y ast.Expr, decide func(a, b fact.Number) fact.Truth) truthFunc {
	a, b := d.number(x), d.number(y)
	if a == nil || b == nil {
		return nil
	}
	return func(s *scope) fact.Truth { return decide(a(s), b(s)) }
}

// equal compares texts, truths or numbers.
func (d *directer) equal(x, y ast.Expr) truthFunc {
	if a, b := d.text(x), d.text(y); a != nil && b != nil {
		return func(s *scope) fact.Truth {
			t, u := a(s), b(s)
			if missing := absent(t, u); missing != nil {
				return fact.Open(missing...)
			}
			return fact.Is(t.Value == u.Value)
		}
	}
	if a, b := d.truth(x), d.truth(y); a != nil && b != nil {
		return func(s *scope) fact.Truth {
			t, u := a(s), b(s)
			if t.Value == fact.Undecided || u.Value == fact.Undecided {
				return fact.Truth{Value: fact.Undecided, Missing: fact.JoinRefs(t.Missing, u.Missing), Assumed: fact.JoinRefs(t.Assumed, u.Assumed)}
			}
			return fact.Is(t.Value == u.Value)
		}
	}
	return nil
}

// absent joins the missing data of texts that are not stated; nil where both are.
func absent(texts ...fact.Text) []fact.Ref {
	var missing []fact.Ref
	for _, t := range texts {
		if t.Value == "" && len(t.Missing) > 0 {
			missing = fact.JoinRefs(missing, t.Missing)
		}
	}
	return missing
}

// among asks whether a text is one of a list of literal texts.
func (d *directer) among(x, list ast.Expr) truthFunc {
	a := d.text(x)
	if a == nil || list.Kind() != ast.ListKind {
		return nil
	}
	var words []string
	for _, e := range list.AsList().Elements() {
		if e.Kind() != ast.LiteralKind {
			return nil
		}
		word, ok := e.AsLiteral().(types.String)
		if !ok {
			return nil
		}
		words = append(words, string(word))
	}
	return func(s *scope) fact.Truth {
		t := a(s)
		if missing := absent(t); missing != nil {
			return fact.Open(missing...)
		}
		return fact.Is(slices.Contains(words, t.Value))
	}
}

// text turns an expression of type string into a function; nil where it cannot.
func (d *directer) text(e ast.Expr) textFunc {
	switch e.Kind() {
	case ast.LiteralKind:
		if v, ok := e.AsLiteral().(types.String); ok {
			t := fact.Text{Value: string(v)}
			return func(*scope) fact.Text { return t }
		}
	case ast.IdentKind:
		if e.AsIdent() == "case_id" {
			return func(s *scope) fact.Text { return fact.Text{Value: s.caseID()} }
		}
	case ast.SelectKind:
		if r := d.read(e); r != nil && r.text != nil {
			return r.text
		}
	}
	return nil
}

// number turns a number of any dimension, or a plain constant, into a function; nil where it cannot.
func (d *directer) number(e ast.Expr) numberFunc {
	switch e.Kind() {
	case ast.LiteralKind:
		if n, ok := asNumber(e.AsLiteral()); ok {
			return func(*scope) fact.Number { return n }
		}
	case ast.SelectKind:
		if r := d.read(e); r != nil && r.number != nil {
			return r.number
		}
	case ast.CallKind:
		return d.numberCall(e)
	}
	return nil
}

func (d *directer) numberCall(e ast.Expr) numberFunc {
	call := e.AsCall()
	args := call.Args()
	if len(args) == 1 {
		return constructed(call.FunctionName(), args[0])
	}
	if call.FunctionName() == "_?_:_" {
		c, a, b := d.truth(args[0]), d.number(args[1]), d.number(args[2])
		if c == nil || a == nil || b == nil {
			return nil
		}
		return func(s *scope) fact.Number {
			switch t := c(s); t.Value {
			case fact.True:
				return a(s)
			case fact.False:
				return b(s)
			default:
				n := fact.Missing(t.Missing...)
				n.Assumed = t.Assumed
				return n
			}
		}
	}
	if len(args) != 2 {
		return nil
	}
	var combine func(a, b fact.Number) fact.Number
	switch call.FunctionName() {
	case "_+_":
		combine = fact.Number.Add
	case "_-_":
		combine = fact.Number.Sub
	case "_*_":
		combine = fact.Number.Mul
	case "_/_":
		combine = divided
	case "lesser":
		combine = fact.Number.Min
	case "larger":
		combine = fact.Number.Max
	default:
		return nil
	}
	a, b := d.number(args[0]), d.number(args[1])
	if a == nil || b == nil || d.plain(args[0]) && d.plain(args[1]) {
		return nil
	}
	return func(s *scope) fact.Number { return combine(a(s), b(s)) }
}

// plain tells whole numbers and fractions of the language itself, whose arithmetic is not ours: 7 / 2 is 3 there.
func (d *directer) plain(e ast.Expr) bool {
	t := d.types[e.ID()]
	return t == types.IntType || t == types.DoubleType
}

func divided(a, b fact.Number) fact.Number {
	if b.Known() && b.Low == 0 {
		panic(errDivision)
	}
	return a.Div(b)
}

// constructed reads a constructor such as pressure_gauge("2 bar(g)") of a literal once.
func constructed(name string, arg ast.Expr) numberFunc {
	dimension, ok := quantity.DimensionByName(name)
	if !ok || arg.Kind() != ast.LiteralKind {
		return nil
	}
	text, ok := arg.AsLiteral().(types.String)
	if !ok {
		return nil
	}
	x, err := quantity.Parse(string(text), dimension)
	if err != nil || math.IsNaN(x) {
		return nil
	}
	n := fact.Exactly(x)
	return func(*scope) fact.Number { return n }
}
