package designfile

import (
	"encoding/json"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// JSONSchema is the JSON Schema, draft 2020-12, of a file that spells the message and begins with the header key. It is what
// editors complete and explain with. It accepts every file that the reader accepts, read as YAML or JSON, but it cannot say all
// that the reader checks: tags that exist, units that fit in every spelling, limits of size.
func JSONSchema(msg proto.Message, header, version string) ([]byte, error) {
	g := &schemaWriter{defs: map[string]any{}}
	d := msg.ProtoReflect().Descriptor()
	root := g.object(d)
	properties := root["properties"].(map[string]any)
	properties[header] = map[string]any{"const": version, "title": header, "description": "First key of the file: the version of its form."}
	root["required"] = []string{header}
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["$id"] = "urn:skidrule:" + strings.ToLower(string(d.Name())) + ":" + version
	root["$defs"] = g.defs
	b, err := json.MarshalIndent(root, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}

// schemaWriter gathers the schemas of messages and quantities.
type schemaWriter struct {
	defs map[string]any
}

// reference gives the schema of a message by name.
func (g *schemaWriter) reference(d protoreflect.MessageDescriptor) map[string]any {
	name := string(d.Name())
	if _, done := g.defs[name]; !done {
		g.defs[name] = nil // ends recursion
		g.defs[name] = g.object(d)
	}
	return map[string]any{"$ref": "#/$defs/" + name}
}

// object is the schema of a message that is spelt as a mapping.
func (g *schemaWriter) object(d protoreflect.MessageDescriptor) map[string]any {
	s := specOf(d)
	properties := map[string]any{}
	oneofs := map[protoreflect.FullName][]string{}
	for _, f := range s.fields {
		properties[f.key] = g.field(f)
		if f.choice != nil {
			oneofs[f.choice.FullName()] = append(oneofs[f.choice.FullName()], f.key)
		}
	}
	o := map[string]any{"type": []string{"object", "null"}, "properties": properties, "additionalProperties": false, "title": s.title()}
	if c := Comment(d.FullName()); c != "" {
		o["description"] = c
		if names := portNames(d); len(names) > 0 {
			o["description"] = c + " Ports: " + strings.Join(names, ", ") + "."
		}
	}
	var choices []any
	for i := range d.Oneofs().Len() {
		keys := oneofs[d.Oneofs().Get(i).FullName()]
		if len(keys) < 2 {
			continue
		}
		// Exactly one branch holds: a single key, or none of them.
		var single []any
		for _, k := range keys {
			single = append(single, map[string]any{"required": []string{k}})
		}
		none := map[string]any{"not": map[string]any{"anyOf": slices.Clone(single)}}
		choices = append(choices, map[string]any{"oneOf": append(single, none)})
	}
	if len(choices) > 0 {
		o["allOf"] = choices
	}
	return o
}

// field is the schema of the value behind a key.
func (g *schemaWriter) field(f *fieldSpec) map[string]any {
	fd := f.field
	var o map[string]any
	switch {
	case fd.IsMap():
		o = map[string]any{"type": []string{"object", "null"}, "additionalProperties": g.scalar(f, fd.MapValue())}
	case fd.IsList() && f.keyedBy != nil:
		o = map[string]any{"type": []string{"object", "null"}, "additionalProperties": g.reference(fd.Message()),
			"propertyNames": map[string]any{"pattern": tagPattern}}
	case fd.IsList():
		item := g.one(f)
		list := map[string]any{"type": []string{"array", "null"}, "items": item}
		if fd.Message() == nil || f.form != skidrulev1.TextForm_TEXT_FORM_UNSPECIFIED {
			list = map[string]any{"anyOf": []any{list, item}}
		}
		o = list
	default:
		o = g.one(f)
	}
	o["title"] = Spoken(f.key)
	if c := Comment(fd.FullName()); c != "" {
		o["description"] = c
	}
	if f.example != "" {
		o["examples"] = []any{f.example}
	}
	return o
}

// one is the schema of a single value of a field.
func (g *schemaWriter) one(f *fieldSpec) map[string]any {
	fd := f.field
	if fd.Message() == nil {
		return g.scalar(f, fd)
	}
	message := g.reference(fd.Message())
	switch f.form {
	case skidrulev1.TextForm_TEXT_FORM_ROUTE_STOP:
		return map[string]any{"anyOf": []any{map[string]any{"type": []string{"string", "number"}, "pattern": stopPattern}, message}}
	case skidrulev1.TextForm_TEXT_FORM_NOMINAL_SIZE:
		return map[string]any{"anyOf": []any{map[string]any{"type": "string", "pattern": sizePattern}, message}}
	}
	return message
}

// scalar is the schema of a value that is no message.
func (g *schemaWriter) scalar(f *fieldSpec, fd protoreflect.FieldDescriptor) map[string]any {
	switch {
	case f.form == skidrulev1.TextForm_TEXT_FORM_VALUE_AT_PATH:
		return map[string]any{"type": []string{"string", "number", "boolean"}}
	case f.unit != 0:
		return g.quantity(f.unit)
	}
	switch fd.Kind() {
	case protoreflect.BoolKind:
		return map[string]any{"type": "boolean"}
	case protoreflect.EnumKind:
		return g.words(fd.Enum())
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		return map[string]any{"type": "number"}
	case protoreflect.StringKind, protoreflect.BytesKind:
		// A text that looks like a number or a truth value needs no quotes in a design file.
		return map[string]any{"type": []string{"string", "number", "boolean"}}
	}
	return map[string]any{"type": "integer"}
}

// words is the schema of an enum, each word with what it means.
func (g *schemaWriter) words(e protoreflect.EnumDescriptor) map[string]any {
	name := string(e.Name())
	if _, done := g.defs[name]; !done {
		var list []any
		for i := range e.Values().Len() {
			v := e.Values().Get(i)
			if v.Number() == 0 {
				continue
			}
			word := map[string]any{"const": EnumName(v)}
			if c := Comment(e.FullName().Append(v.Name())); c != "" {
				word["description"] = c
			}
			list = append(list, word)
		}
		o := map[string]any{"title": spaced(name), "oneOf": list}
		if c := Comment(e.FullName()); c != "" {
			o["description"] = c
		}
		g.defs[name] = o
	}
	return map[string]any{"$ref": "#/$defs/" + name}
}

// Patterns of short texts. They are looser than the reader, which knows every unit and says what is wrong.
const (
	tagPattern    = `^[A-Za-z0-9][A-Za-z0-9_/-]{0,63}$`
	stopPattern   = `^\s*[A-Za-z0-9][A-Za-z0-9_/-]{0,63}(\.\s*[^>]*(>\s*.*)?)?$`
	sizePattern   = `^\s*((DN|NPS|OD|ID|dn|nps|od|id)\s*)?[0-9].*$`
	numberPattern = `^\s*((Kv|Cv) )?\s*[-+±−]?\s*[.,]?[0-9¼½¾⅛⅜⅝⅞].*`
)

// quantity is the schema of a number with its unit.
func (g *schemaWriter) quantity(d quantity.Dimension) map[string]any {
	name := "quantity_" + d.Name()
	if _, done := g.defs[name]; !done {
		pattern := numberPattern
		switch d {
		case quantity.PressureGauge:
			pattern += `([gG]\)?|[gG]auge)\s*$`
		case quantity.PressureAbsolute:
			pattern += `([aA]\)?|abs|absolute)\s*$`
		case quantity.FlowCoefficient, quantity.Ratio:
			pattern += `$`
		default:
			pattern += `[A-Za-z%°µμΩ].*$`
		}
		o := map[string]any{"title": d.Noun(), "type": "string", "pattern": pattern}
		if units := d.Units(); len(units) > 0 {
			o["description"] = "A number with its unit, such as " + strings.Join(units, ", ") + "."
		}
		if d == quantity.Ratio {
			o["type"] = []string{"string", "number"}
			o["description"] = "A number, or a percentage with %."
		}
		g.defs[name] = o
	}
	return map[string]any{"$ref": "#/$defs/" + name}
}

// spaced turns "OzoneGenerator" into "ozone generator".
func spaced(name string) string {
	return Spoken(strings.ToLower(strings.TrimSuffix(enumPrefix(name), "_")))
}
