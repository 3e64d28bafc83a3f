package designfile

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/quantity"
)

// valueKey and value remember the quantities that were parsed, since designs
// repeat them.
type valueKey struct {
	text string
	unit quantity.Dimension
}

type value struct {
	si  float64
	err error
}

// scalar reads a value of a field that is no message.
func (w *walker) scalar(f *fieldSpec, n *yaml.Node, path string) (protoreflect.Value, bool) {
	none := protoreflect.Value{}
	if n.Kind != yaml.ScalarNode {
		w.problem(n, path, "one value is needed here, not a "+nodeNoun(n), f.wants())
		return none, false
	}
	if isNull(n) {
		w.problem(n, path, "no value", "write the value, or leave the key out when it is not known")
		return none, false
	}
	switch f.field.Kind() {
	case protoreflect.StringKind:
		return protoreflect.ValueOfString(n.Value), true
	case protoreflect.BoolKind:
		switch n.Value {
		case "true", "True", "TRUE":
			return protoreflect.ValueOfBool(true), true
		case "false", "False", "FALSE":
			return protoreflect.ValueOfBool(false), true
		}
	case protoreflect.EnumKind:
		if v := enumByName(f.field.Enum(), n.Value); v != nil {
			return protoreflect.ValueOfEnum(v.Number()), true
		}
		w.problem(n, path, "unknown "+f.key+" "+quote(n.Value), w.enumHint(f, n.Value))
		return none, false
	case protoreflect.Int32Kind, protoreflect.Sint32Kind, protoreflect.Sfixed32Kind:
		if i, err := strconv.ParseInt(n.Value, 10, 32); err == nil {
			return protoreflect.ValueOfInt32(int32(i)), true
		}
	case protoreflect.Int64Kind, protoreflect.Sint64Kind, protoreflect.Sfixed64Kind:
		if i, err := strconv.ParseInt(n.Value, 10, 64); err == nil {
			return protoreflect.ValueOfInt64(i), true
		}
	case protoreflect.Uint32Kind, protoreflect.Fixed32Kind:
		if i, err := strconv.ParseUint(n.Value, 10, 32); err == nil {
			return protoreflect.ValueOfUint32(uint32(i)), true
		}
	case protoreflect.Uint64Kind, protoreflect.Fixed64Kind:
		if i, err := strconv.ParseUint(n.Value, 10, 64); err == nil {
			return protoreflect.ValueOfUint64(i), true
		}
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		v, ok := w.number(f, f.unit, n, path)
		if !ok {
			return none, false
		}
		if f.field.Kind() == protoreflect.FloatKind {
			return protoreflect.ValueOfFloat32(float32(v)), true
		}
		return protoreflect.ValueOfFloat64(v), true
	case protoreflect.BytesKind:
		return protoreflect.ValueOfBytes([]byte(n.Value)), true
	}
	w.problem(n, path, quote(n.Value)+" is no value of "+f.key, f.wants())
	return none, false
}

// number reads a number: a quantity when the field has a dimension.
func (w *walker) number(f *fieldSpec, unit quantity.Dimension, n *yaml.Node, path string) (float64, bool) {
	if unit == 0 {
		v, err := plainNumber(n.Value)
		if err != nil {
			w.problem(n, path, err.Error(), f.wants())
			return 0, false
		}
		return v, true
	}
	key := valueKey{n.Value, unit}
	v, ok := w.values[key]
	if !ok && notFinite.MatchString(n.Value) {
		w.problem(n, path, fmt.Sprintf("%s %s: not a finite number", f.key, quote(n.Value)), "write a finite number, or leave the datum out when it is not known")
		return 0, false
	}
	if !ok {
		v.si, v.err = quantity.Parse(n.Value, unit)
		w.values[key] = v
	}
	if v.err != nil {
		w.quantityProblem(v.err, f, n, path)
		return 0, false
	}
	return v.si, true
}

// notFinite matches YAML's spellings of numbers that are none.
var notFinite = regexp.MustCompile(`(?i)^[-+]?\.?(nan|inf(inity)?)\b`)

// quantityProblem notes what the unit parser says, at the character it names.
func (w *walker) quantityProblem(err error, f *fieldSpec, n *yaml.Node, path string) {
	at := w.extent(n)
	var q *quantity.Error
	if !errors.As(err, &q) {
		w.problemAt(at, path, err.Error(), f.wants())
		return
	}
	if q.Offset > 0 {
		e := entry{value: at, style: n.Style, scalar: true, decoded: n.Value}
		at.from = w.source.within(e, q.Offset)
	}
	w.problemAt(at, path, f.key+" "+quote(n.Value)+": "+q.Problem, q.Suggestion)
}

// plainNumber reads a finite decimal number without a unit.
func plainNumber(s string) (float64, error) {
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9', c == '+', c == '-', c == '.', c == 'e', c == 'E':
		default:
			return 0, fmt.Errorf("%s is no decimal number", quote(s))
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%s is no finite decimal number", quote(s))
	}
	return v, nil
}

// wants says what a value of the field looks like.
func (f *fieldSpec) wants() string {
	switch {
	case f.example != "":
		return "write it as " + quote(f.example)
	case f.unit != 0:
		return "write a number and a unit: " + list(f.unit.Units(), 6)
	case f.field.Message() != nil:
		return ""
	}
	switch f.field.Kind() {
	case protoreflect.BoolKind:
		return "write true or false"
	case protoreflect.EnumKind:
		return "known are " + list(EnumNames(f.field.Enum()), 60)
	case protoreflect.StringKind:
		return "write one text"
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		return "write a decimal number"
	}
	return "write a whole number"
}

// enumByName finds the value of a spelling; nil for none.
func enumByName(d protoreflect.EnumDescriptor, name string) protoreflect.EnumValueDescriptor {
	if name == "" || strings.ToLower(name) != name {
		return nil
	}
	v := d.Values().ByName(protoreflect.Name(enumPrefix(string(d.Name())) + strings.ToUpper(name)))
	if v == nil || v.Number() == 0 {
		return nil
	}
	return v
}

func (w *walker) enumHint(f *fieldSpec, word string) string {
	if w.problems.full() {
		return ""
	}
	names := EnumNames(f.field.Enum())
	if misspelt.Fold(word) == "unspecified" || word == "" || word == "unknown" {
		return "leave the key out when it is not known; known are " + list(names, 60)
	}
	if near := misspelt.Nearest(word, names); near != "" {
		return "did you mean " + quote(near) + "? Known are " + list(names, 60)
	}
	return "known are " + list(names, 60)
}

// valueAtPath reads a number in the dimension of the datum that the message's
// field "path" names.
func (w *walker) valueAtPath(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) {
	target := m.Descriptor().Fields().ByName("path")
	if target == nil {
		w.problem(n, path, "no path says what is measured here", "")
		return
	}
	datum, err := datumAt(m.Get(target).String())
	if err != nil {
		if !m.Has(target) {
			w.problem(n, path, f.key+" without a path", "write path: and the datum that is assumed, such as components.CV-2.max_pressure")
		}
		return // the check of the message names a path that leads nowhere
	}
	if n.Kind != yaml.ScalarNode || isNull(n) {
		w.scalar(f, n, path)
		return
	}
	g := *f
	if datum.unit != 0 {
		g.example = datum.example
	}
	if v, ok := w.number(&g, datum.unit, n, path); ok {
		m.Set(f.field, protoreflect.ValueOfFloat64(v))
	}
}
