package designfile

import (
	"bytes"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Form is a spelling in a syntax.
type Form int

// The forms that designs are read from and written in.
const (
	// YAML is the file spelling in YAML syntax.
	YAML Form = iota + 1
	// JSON is the file spelling in JSON syntax.
	JSON
	// WireJSON is protobuf's JSON of the message.
	WireJSON
	// Text is protobuf's text form of the message.
	Text
	// Binary is protobuf's binary form of the message.
	Binary
)

// formNames are the names of the forms on a command line.
var formNames = []string{YAML: "yaml", JSON: "json", WireJSON: "wire-json", Text: "text", Binary: "binary"}

// String returns "yaml", "json", "wire-json", "text" or "binary".
func (f Form) String() string {
	if f < YAML || f > Binary {
		return "no form"
	}
	return formNames[f]
}

// FormByName finds a form by its name.
func FormByName(name string) (Form, bool) {
	for f := YAML; f <= Binary; f++ {
		if formNames[f] == name {
			return f, true
		}
	}
	return 0, false
}

// Headers of the files that hold the messages of this package.
const (
	DesignHeader    = "skidrule"
	CatalogueHeader = "skidrule_catalogue"
	Version         = "v1"
)

// File is a design with the places of its elements.
type File struct {
	Design *skidrulev1.Design
	// Positions leads from paths to places; it knows none for protobuf's text
	// and binary forms.
	Positions *Positions
	// Form is how the file was spelt.
	Form Form
}

// CatalogueFile is a catalogue with the places of its elements.
type CatalogueFile struct {
	Catalogue *skidrulev1.Catalogue
	Positions *Positions
	Form      Form
}

// Read reads a design in any form with the default limits. The form follows
// from the extension of the name (.yaml, .yml, .json, .pb, .binpb, .txtpb), or
// from the content when the name has another one; JSON is in the file spelling
// when its first key is "skidrule". The error is a *[Problems].
func Read(name string, data []byte) (*File, error) { return ReadLimited(name, data, Options{}) }

// ReadLimited is Read with other limits. Header and version of the options are
// ignored.
func ReadLimited(name string, data []byte, o Options) (*File, error) {
	o.Header, o.Version = DesignHeader, Version
	f := &File{Design: &skidrulev1.Design{}}
	var err error
	f.Form, f.Positions, err = read(name, data, f.Design, o.withDefaults())
	if err != nil {
		return nil, err
	}
	return f, nil
}

// ReadCatalogue reads a catalogue in any form; see [Read]. Its first key is
// "skidrule_catalogue".
func ReadCatalogue(name string, data []byte) (*CatalogueFile, error) {
	o := Options{Header: CatalogueHeader, Version: Version}
	f := &CatalogueFile{Catalogue: &skidrulev1.Catalogue{}}
	var err error
	f.Form, f.Positions, err = read(name, data, f.Catalogue, o.withDefaults())
	if err != nil {
		return nil, err
	}
	return f, nil
}

func read(name string, data []byte, msg proto.Message, o Options) (Form, *Positions, error) {
	if err := checkSize(name, data, o); err != nil {
		return 0, nil, err
	}
	form := Detect(name, data)
	var positions *Positions
	var err error
	switch form {
	case YAML, JSON:
		positions, err = Decode(data, name, msg, o)
	default:
		if positions, err = readWire(form, name, data, msg, o); err == nil {
			err = Check(msg, positions, o)
		}
	}
	return form, positions, err
}

// Detect says in which form a file is, from the extension of its name and its
// content. A text that is none of them counts as YAML, whose reader explains
// what is wrong with it.
func Detect(name string, data []byte) Form {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".yaml", ".yml":
		return YAML
	case ".json":
		return jsonForm(data)
	case ".pb", ".binpb", ".bin":
		return Binary
	case ".txtpb", ".textproto", ".pbtxt":
		return Text
	}
	if key := FirstKey(data); foreignEncoding(data) != "" || key == DesignHeader || key == CatalogueHeader {
		if bytes.HasPrefix(bytes.TrimSpace(data[:min(len(data), 4096)]), []byte("{")) {
			return JSON
		}
		return YAML
	}
	if !utf8.Valid(data) || bytes.ContainsFunc(data, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' }) {
		return Binary
	}
	rest := bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))
	if bytes.HasPrefix(rest, []byte("{")) {
		return jsonForm(data)
	}
	if isTextproto(rest) {
		return Text
	}
	return YAML
}

// jsonForm tells the file spelling from protobuf's JSON by the first key.
func jsonForm(data []byte) Form {
	rest := bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))
	rest, ok := bytes.CutPrefix(rest, []byte("{"))
	if !ok {
		return JSON
	}
	rest = bytes.TrimLeft(rest, " \t\r\n\"'")
	if bytes.HasPrefix(rest, []byte("skidrule")) {
		return JSON
	}
	return WireJSON
}

// isTextproto recognises protobuf's text form by its first line that is no
// comment: a field of a design or a catalogue with a quoted text or a block.
func isTextproto(rest []byte) bool {
	for len(rest) > 0 && rest[0] == '#' {
		_, rest, _ = bytes.Cut(rest, []byte("\n"))
		rest = bytes.TrimSpace(rest)
	}
	end := bytes.IndexFunc(rest, func(r rune) bool { return r != '_' && (r < 'a' || r > 'z') })
	if end <= 0 {
		return false
	}
	field := string(rest[:end])
	design := specOf((&skidrulev1.Design{}).ProtoReflect().Descriptor())
	catalogue := specOf((&skidrulev1.Catalogue{}).ProtoReflect().Descriptor())
	if !design.has(field) && !catalogue.has(field) {
		return false
	}
	// In YAML a key is followed by a colon and white space, and a block by
	// indentation; the text form of these fields has a brace or a quote.
	rest = bytes.TrimLeft(rest[end:], " \t\r\n")
	rest, colon := bytes.CutPrefix(rest, []byte(":"))
	rest = bytes.TrimLeft(rest, " \t\r\n")
	if bytes.HasPrefix(rest, []byte("{")) || bytes.HasPrefix(rest, []byte("<")) {
		return true
	}
	return colon && (bytes.HasPrefix(rest, []byte(`"`)) || bytes.HasPrefix(rest, []byte("'")))
}
