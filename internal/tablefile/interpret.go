package tablefile

import (
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sample shows how a file begins.
const sample = "begin the file with rows such as `part,house/injector-25` and `kind,venturi_injector`"

// interpret sorts the rows into what is said of the part and its tables.
func (t *table) interpret(rows [][]cell) {
	var named *cell // the table that the next header belongs to
	var below *block
	var blocks []*block
	for _, row := range rows {
		key := normal(row[0].text)
		switch {
		case isHeader(row):
			below = &block{named: named, header: row}
			blocks, named = append(blocks, below), nil
		case key == "table":
			named, below = t.value(row), nil
		case below != nil:
			below.body = append(below.body, row)
		default:
			t.head(key, row)
		}
	}
	if t.id == nil {
		t.fault(start, sample, "the file does not say which part it is about")
	}
	spec := t.specMessage()
	if spec == nil {
		return
	}
	t.place(spec)
	if len(blocks) == 0 {
		t.fault(start, "head the columns with their units, as `flow [m3/h]`", "the file has no table")
	}
	for _, b := range blocks {
		t.table(spec, b)
	}
}

// block is a header with the rows below it, and the table that a row before it names; nil where none does.
type block struct {
	named  *cell
	header []cell
	body   [][]cell
}

// head reads a row of a key and a value.
func (t *table) head(key string, row []cell) {
	v := t.value(row)
	if v == nil {
		return
	}
	once := map[string]**cell{"part": &t.id, "title": &t.title, "origin": &t.origin, "kind": &t.kind}
	if slot := once[key]; slot != nil {
		if *slot != nil {
			t.fault(row[0], "keep one", "%s is stated twice", key)
			return
		}
		*slot = v
		return
	}
	// Whether it is of the part or of its kind shows when the kind is known.
	t.component = append(t.component, datum{key, *v})
}

// value is the second cell of a row of two.
func (t *table) value(row []cell) *cell {
	for _, extra := range row[min(len(row), 2):] {
		if extra.text != "" {
			t.fault(extra, "a row above the table has a key and a value; the header of a table has units, as `flow [m3/h]`; put text with commas into quotes", "a third cell beside key and value")
			return nil
		}
	}
	if len(row) < 2 || row[1].text == "" {
		t.fault(row[0], "put the value into the next cell, or take the row out", "%s has no value", row[0].text)
		return nil
	}
	return &row[1]
}

// specMessage is the message of the part's kind; nil where the kind is not known.
func (t *table) specMessage() protoreflect.MessageDescriptor {
	if t.kind == nil {
		t.fault(start, sample, "the file does not say what kind of part it is about")
		return nil
	}
	kind, ok := plant.KindByName(normal(t.kind.text))
	if !ok {
		var names []string
		for _, k := range plant.Kinds() {
			if len(tablesOf(k.Info().Field.Message())) > 0 {
				names = append(names, k.String())
			}
		}
		t.fault(*t.kind, "kinds with tables are "+strings.Join(names, ", "), "there is no kind %s", t.kind.text)
		return nil
	}
	t.kind.text = kind.String()
	return kind.Info().Field.Message()
}

// place sorts the data of the head into that of any part and that of its kind. What neither knows stays with the kind,
// whose reader suggests the nearest key.
func (t *table) place(spec protoreflect.MessageDescriptor) {
	all := t.component
	t.component = nil
	component := (&skidrulev1.Component{}).ProtoReflect().Descriptor()
	for _, d := range all {
		if f := designfile.FieldByKey(component, d.key); f != nil && (f.ContainingOneof() == nil || f.ContainingOneof().IsSynthetic()) && designfile.FieldByKey(spec, d.key) == nil {
			t.component = append(t.component, d)
		} else {
			t.spec = append(t.spec, d)
		}
	}
}

// tablesOf lists the fields of a message that hold tables.
func tablesOf(m protoreflect.MessageDescriptor) []protoreflect.FieldDescriptor {
	var out []protoreflect.FieldDescriptor
	for i := range m.Fields().Len() {
		if f := m.Fields().Get(i); f.IsList() && f.Message() != nil && measured(f.Message()) {
			out = append(out, f)
		}
	}
	return out
}

// measured tells whether a message is a point of a table: nothing but quantities.
func measured(m protoreflect.MessageDescriptor) bool {
	for i := range m.Fields().Len() {
		if _, ok := designfile.FieldDimension(m.Fields().Get(i)); !ok {
			return false
		}
	}
	return true
}

// table reads the points below a header.
func (t *table) table(spec protoreflect.MessageDescriptor, b *block) {
	header := b.header
	keys, units := make([]string, len(header)), make([]string, len(header))
	for i, c := range header {
		if c.text == "" {
			continue
		}
		name, unit, ok := strings.Cut(strings.TrimSuffix(c.text, "]"), "[")
		if !ok {
			t.fault(c, "head the column as `"+c.text+" [unit]`, or `[1]` where it has none", "the column %s has no unit", c.text)
			return
		}
		keys[i], units[i] = normal(name), strings.TrimSpace(unit)
		if slices.Contains(keys[:i], keys[i]) {
			t.fault(c, "keep one", "the column %s stands there twice", keys[i])
			return
		}
	}
	field, ok := t.tableField(spec, b.named, keys, header[0])
	if !ok {
		return
	}
	if slices.ContainsFunc(t.points, func(p points) bool { return p.field == field }) {
		t.fault(header[0], "keep the points of one table together", "the table %s stands there twice", field)
		return
	}
	p := points{field: field}
	for _, row := range b.body {
		var point []datum
		for i, c := range row {
			switch {
			case c.text == "":
			case i >= len(keys) || keys[i] == "":
				t.fault(c, "", "the value %s stands in a column without a header", c.text)
			default:
				if units[i] != "1" && units[i] != "-" {
					c.text += " " + units[i]
				}
				point = append(point, datum{keys[i], c})
			}
		}
		p.rows = append(p.rows, point)
	}
	if len(p.rows) == 0 {
		t.fault(header[0], "put the points below the header", "the table %s has no points", field)
	}
	t.points = append(t.points, p)
}

// tableField finds the field that a table belongs to: the one that it names, or the only one with its columns.
func (t *table) tableField(spec protoreflect.MessageDescriptor, named *cell, keys []string, at cell) (string, bool) {
	candidates := tablesOf(spec)
	names := make([]string, len(candidates))
	var fitting []string
	for i, f := range candidates {
		names[i] = designfile.Key(f)
		if !slices.ContainsFunc(keys, func(k string) bool { return k != "" && designfile.FieldByKey(f.Message(), k) == nil }) {
			fitting = append(fitting, names[i])
		}
	}
	known := "its tables are " + describeTables(candidates)
	switch {
	case len(candidates) == 0:
		t.fault(*t.kind, "", "a %s has no table", t.kind.text)
	case named != nil && !slices.Contains(names, normal(named.text)):
		t.fault(*named, known, "a %s has no table %s", t.kind.text, named.text)
	case named != nil:
		return normal(named.text), true
	case len(fitting) == 1:
		return fitting[0], true
	default:
		t.fault(at, known, "the columns fit no table of a %s alone", t.kind.text)
	}
	return "", false
}

// describeTables lists tables with their columns.
func describeTables(fields []protoreflect.FieldDescriptor) string {
	out := make([]string, len(fields))
	for i, f := range fields {
		var columns []string
		for j := range f.Message().Fields().Len() {
			columns = append(columns, designfile.Key(f.Message().Fields().Get(j)))
		}
		out[i] = designfile.Key(f) + " (" + strings.Join(columns, ", ") + ")"
	}
	return strings.Join(out, "; ")
}

// isHeader tells a header from other rows by the units of its cells.
func isHeader(row []cell) bool {
	return slices.ContainsFunc(row, func(c cell) bool {
		return strings.HasSuffix(c.text, "]") && strings.Contains(c.text, "[") && !strings.HasPrefix(c.text, "[")
	})
}

// normal spells a key as design files do.
func normal(s string) string {
	return strings.Join(strings.Fields(strings.ToLower(s)), "_")
}
