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

// headerOf returns the first key of the files that hold a message.
func headerOf(msg proto.Message) string {
	switch msg.(type) {
	case *skidrulev1.Design:
		return DesignHeader
	case *skidrulev1.Catalogue:
		return CatalogueHeader
	}
	return ""
}

// formOf says in which form a file is, from the extension of its name and its
// content. A text that is none of them counts as YAML, whose reader explains
// what is wrong with it.
func formOf(name string, data []byte) Form {
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

// FirstKey returns the first key of a file in YAML or JSON syntax, by which its
// reader is chosen. It is empty for a file that has none, and is found without
// reading the file.
func FirstKey(data []byte) string {
	rest := bytes.TrimPrefix(data, []byte("\ufeff"))
	for {
		rest = bytes.TrimLeft(rest, " \t\r\n")
		if !bytes.HasPrefix(rest, []byte("#")) && !bytes.HasPrefix(rest, []byte("---")) {
			break
		}
		_, rest, _ = bytes.Cut(rest, []byte("\n"))
	}
	rest = bytes.TrimLeft(rest, "{ \t\r\n\"'")
	end := bytes.IndexFunc(rest, func(r rune) bool {
		return r != '_' && r != '-' && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9')
	})
	if end < 0 || !bytes.HasPrefix(bytes.TrimLeft(rest[end:], "\"' \t"), []byte(":")) {
		return ""
	}
	return string(rest[:end])
}
