package designfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
)

// Write spells a design or a catalogue in a form. The same message gives the
// same bytes, and reading them gives the same message. A message that [Check]
// finds fault with is not written; the error is then a *[Problems].
func Write(msg proto.Message, form Form) ([]byte, error) {
	return WriteHeaded(msg, form, headerOf(msg), Version, nil)
}

// WriteHeaded is Write for any message, with the first key of the file spelling
// and its value. An empty header is left out. Numbers keep the text of the file
// that they were read from when written, the positions of that file, are given
// and the text still has that value; otherwise they are spelt in the unit that
// takes the fewest digits. They keep every bit in both cases.
func WriteHeaded(msg proto.Message, form Form, header, version string, written *Positions) ([]byte, error) {
	if err := Check(msg, nil, Options{}); err != nil {
		return nil, err
	}
	switch form {
	case YAML, JSON:
		s, err := speller{written}.message(msg.ProtoReflect(), nil, nil)
		if err != nil {
			return nil, err
		}
		if header != "" {
			s.keys = append([]string{header}, s.keys...)
			s.parts = append([]*spelling{{text: version}}, s.parts...)
		}
		if form == JSON {
			return writeJSON(s), nil
		}
		return writeYAML(s), nil
	case WireJSON:
		return writeWireJSON(msg)
	case Text:
		return writeText(msg)
	case Binary:
		return proto.MarshalOptions{Deterministic: true}.Marshal(msg)
	}
	return nil, fmt.Errorf("unknown form %d", form)
}

// Convert reads a design or a catalogue in any form and writes it in another.
// No value is changed; comments are lost. Between the two syntaxes of the file
// spelling numbers keep the unit that a person wrote.
func Convert(name string, data []byte, to Form) ([]byte, error) {
	if FirstKey(data) == CatalogueHeader {
		c, err := ReadCatalogue(name, data)
		if err != nil {
			return nil, err
		}
		return WriteHeaded(c.Catalogue, to, CatalogueHeader, Version, c.Positions)
	}
	f, err := Read(name, data)
	if err != nil {
		return nil, err
	}
	return WriteHeaded(f.Design, to, DesignHeader, Version, f.Positions)
}

// writeWireJSON indents anew, since the library varies its white space from
// build to build.
func writeWireJSON(msg proto.Message) ([]byte, error) {
	data, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(msg)
	if err != nil {
		return nil, errors.New(wordsOf(err))
	}
	var out bytes.Buffer
	if err := json.Indent(&out, data, "", "  "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

// writeText writes the text form and takes out the spaces that the library
// inserts in some builds.
func writeText(msg proto.Message) ([]byte, error) {
	data, err := prototext.MarshalOptions{Multiline: true, Indent: "  "}.Marshal(msg)
	if err != nil {
		return nil, errors.New(wordsOf(err))
	}
	d := msg.ProtoReflect().Descriptor()
	var out strings.Builder
	fmt.Fprintf(&out, "# proto-file: %s\n# proto-message: %s\n", d.ParentFile().Path(), d.FullName())
	for line := range strings.Lines(string(data)) {
		body := strings.TrimLeft(line, " ")
		name, value, ok := strings.Cut(body, " ")
		out.WriteString(line[:len(line)-len(body)])
		out.WriteString(name)
		if ok {
			out.WriteString(" " + strings.TrimLeft(value, " "))
		}
	}
	return []byte(out.String()), nil
}
