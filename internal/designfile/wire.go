package designfile

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// readWire reads one of protobuf's own forms.
func readWire(form Form, name string, data []byte, msg proto.Message, o Options) (*Positions, error) {
	none := &Positions{file: name}
	if form == Binary {
		return none, readBinary(name, data, msg, o)
	}
	s, err := newSource(name, data)
	if err != nil {
		return nil, err
	}
	if err := s.checkSeparators(o.MaxElements); err != nil {
		return nil, err
	}
	if form == Text {
		if err := (prototext.UnmarshalOptions{}).Unmarshal(s.text, msg); err != nil {
			return nil, s.wireProblem("protobuf text", err)
		}
		return none, nil
	}
	if err := (protojson.UnmarshalOptions{RecursionLimit: o.MaxDepth}).Unmarshal(s.text, msg); err != nil {
		return nil, s.wireProblem("protobuf JSON", err)
	}
	return s.wirePlaces(msg.ProtoReflect().Descriptor(), o), nil
}

// wordsOf is the text of an error of the protobuf library, which varies its white space from build to build.
func wordsOf(err error) string { return strings.ReplaceAll(err.Error(), "\u00a0", " ") }

var wirePlace = regexp.MustCompile(`\(line (\d+):(\d+)\):\s*`)

// wireProblem turns an error of the protobuf library into a problem, with the
// place that it states.
func (s *source) wireProblem(form string, err error) error {
	text := strings.TrimSpace(strings.TrimPrefix(wordsOf(err), "proto:"))
	at, placed := 0, false
	if m := wirePlace.FindStringSubmatch(text); m != nil {
		line, _ := strconv.Atoi(m[1])
		column, _ := strconv.Atoi(m[2])
		at, placed = s.offset(line, column), true
		text = strings.Replace(text, m[0], "", 1)
	}
	if strings.Contains(text, "unexpected EOF") && !placed {
		at = len(s.text)
	}
	text = strings.TrimPrefix(text, "syntax error ")
	suggestion := ""
	if form == "protobuf JSON" {
		suggestion = "a design in the file spelling begins with \"skidrule\": \"v1\""
	}
	return single(s.problem(span{at, at}, "", "not readable as "+form+": "+text, suggestion))
}

// readBinary reads the binary form. The elements are counted first, for a few
// bytes can stand for a message of some hundred.
func readBinary(name string, data []byte, msg proto.Message, o Options) error {
	fail := func(message string) error {
		return single(Problem{File: name, Message: message, Suggestion: "the file must be a binary protobuf message " + string(msg.ProtoReflect().Descriptor().FullName())})
	}
	left := o.MaxElements
	if err := countElements(data, msg.ProtoReflect().Descriptor(), &left, o.MaxDepth); err != nil {
		return fail("not readable as binary protobuf: " + err.Error())
	}
	if err := (proto.UnmarshalOptions{RecursionLimit: o.MaxDepth}).Unmarshal(data, msg); err != nil {
		return fail("not readable as binary protobuf: " + strings.TrimPrefix(wordsOf(err), "proto: "))
	}
	return nil
}

// countElements walks through the binary form without decoding it and refuses
// fields that the schema does not know, too many of them, and too deep nesting.
func countElements(data []byte, d protoreflect.MessageDescriptor, left *int, depth int) error {
	if depth <= 0 {
		return fmt.Errorf("nested too deeply")
	}
	fields := d.Fields()
	for len(data) > 0 {
		number, kind, n := protowire.ConsumeTag(data)
		if n < 0 {
			return fmt.Errorf("broken in a field of %s", d.Name())
		}
		data = data[n:]
		if *left--; *left < 0 {
			return fmt.Errorf("too many elements")
		}
		n = protowire.ConsumeFieldValue(number, kind, data)
		if n < 0 {
			return fmt.Errorf("broken in field %d of %s", number, d.Name())
		}
		fd := fields.ByNumber(number)
		if fd == nil {
			return fmt.Errorf("%s has no field %d", d.Name(), number)
		}
		if !fits(fd, kind) {
			return fmt.Errorf("field %s of %s has the wrong wire type", fd.Name(), d.Name())
		}
		if fd.Message() != nil {
			inner, _ := protowire.ConsumeBytes(data)
			if err := countElements(inner, fd.Message(), left, depth-1); err != nil {
				return err
			}
		}
		data = data[n:]
	}
	return nil
}

// fits reports whether a field may have a wire type. Lists of numbers may be
// packed.
func fits(fd protoreflect.FieldDescriptor, kind protowire.Type) bool {
	switch fd.Kind() {
	case protoreflect.MessageKind, protoreflect.StringKind, protoreflect.BytesKind:
		return kind == protowire.BytesType
	case protoreflect.GroupKind:
		return false
	}
	if fd.IsList() && kind == protowire.BytesType {
		return true
	}
	switch fd.Kind() {
	case protoreflect.DoubleKind, protoreflect.Fixed64Kind, protoreflect.Sfixed64Kind:
		return kind == protowire.Fixed64Type
	case protoreflect.FloatKind, protoreflect.Fixed32Kind, protoreflect.Sfixed32Kind:
		return kind == protowire.Fixed32Type
	}
	return kind == protowire.VarintType
}
