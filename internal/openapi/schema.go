package openapi

import (
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
)

// schemaName is the name of a message or enum without its package.
func schemaName(d protoreflect.Descriptor) string {
	return strings.TrimPrefix(string(d.FullName()), string(d.ParentFile().Package())+".")
}

// message gives a reference to the schema of a message, which it describes the first time.
func (w *writer) message(d protoreflect.MessageDescriptor) object {
	name := schemaName(d)
	if _, done := w.schemas[name]; !done {
		w.schemas[name] = nil // ends recursion
		w.schemas[name] = w.fields(d)
	}
	return object{"$ref": "#/components/schemas/" + name}
}

// fields is the schema of a message. Nothing is required: what is not stated is left out, in answers too.
func (w *writer) fields(d protoreflect.MessageDescriptor) object {
	properties := object{}
	choices := map[protoreflect.FullName][]any{}
	for i := range d.Fields().Len() {
		f := d.Fields().Get(i)
		properties[f.JSONName()] = w.field(f)
		if o := f.ContainingOneof(); o != nil && !o.IsSynthetic() {
			choices[o.FullName()] = append(choices[o.FullName()], object{"required": []string{f.JSONName()}})
		}
	}
	o := object{"type": "object", "properties": properties, "additionalProperties": false}
	if c := designfile.Comment(d.FullName()); c != "" {
		o["description"] = c
	}
	var all []any
	for i := range d.Oneofs().Len() {
		if list := choices[d.Oneofs().Get(i).FullName()]; len(list) > 1 {
			// One of them or none.
			all = append(all, object{"oneOf": append(slices.Clone(list), object{"not": object{"anyOf": list}})})
		}
	}
	if len(all) > 0 {
		o["allOf"] = all
	}
	return o
}

func (w *writer) field(f protoreflect.FieldDescriptor) object {
	var o object
	switch {
	case f.IsMap():
		o = object{"type": "object", "additionalProperties": w.value(f.MapValue())}
	case f.IsList():
		o = object{"type": "array", "items": w.value(f)}
	default:
		o = w.value(f)
	}
	if c := designfile.Comment(f.FullName()); c != "" {
		o["description"] = c
	}
	return o
}

// value is the schema of one value, as the JSON mapping of protobuf spells it.
func (w *writer) value(f protoreflect.FieldDescriptor) object {
	switch f.Kind() {
	case protoreflect.MessageKind, protoreflect.GroupKind:
		return w.message(f.Message())
	case protoreflect.EnumKind:
		return w.words(f.Enum())
	case protoreflect.BoolKind:
		return object{"type": "boolean"}
	case protoreflect.StringKind:
		return object{"type": "string"}
	case protoreflect.BytesKind:
		return object{"type": "string", "contentEncoding": "base64"}
	case protoreflect.DoubleKind:
		return object{"type": "number", "format": "double"}
	case protoreflect.FloatKind:
		return object{"type": "number", "format": "float"}
	case protoreflect.Int64Kind, protoreflect.Sint64Kind, protoreflect.Sfixed64Kind, protoreflect.Uint64Kind, protoreflect.Fixed64Kind:
		// Answers spell them as texts, since not every reader of JSON holds all of their digits.
		return object{"type": []string{"string", "integer"}, "pattern": `^-?[0-9]+$`}
	}
	return object{"type": "integer", "format": "int32"}
}

// words is the schema of an enum.
func (w *writer) words(e protoreflect.EnumDescriptor) object {
	name := schemaName(e)
	if _, done := w.schemas[name]; !done {
		var list []string
		text := designfile.Comment(e.FullName())
		for i := range e.Values().Len() {
			v := e.Values().Get(i)
			list = append(list, string(v.Name()))
			if c := designfile.Comment(e.FullName() + "." + protoreflect.FullName(v.Name())); c != "" {
				text += "\n- `" + string(v.Name()) + "`: " + c
			}
		}
		w.schemas[name] = object{"type": "string", "enum": list, "description": text}
	}
	return object{"$ref": "#/components/schemas/" + name}
}
