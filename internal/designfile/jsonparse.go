package designfile

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// parse returns the root node of the text. A text that begins with a brace is
// read as JSON, which YAML readers do not understand fully: they lack the
// surrogate pairs of JSON's escapes. When it is no JSON and the name does not
// say that it should be, it is read as YAML in brackets.
func (s *source) parse(o Options) (*yaml.Node, error) {
	if err := s.checkSeparators(o.MaxElements); err != nil {
		return nil, err
	}
	isJSON := strings.EqualFold(filepath.Ext(s.name), ".json")
	if isJSON || strings.HasPrefix(strings.TrimLeft(string(s.text[:min(len(s.text), 4096)]), " \t\r\n"), "{") {
		root, err := s.parseJSON(o.MaxDepth)
		if err == nil || isJSON {
			return root, err
		}
		if root, yamlErr := s.parseYAML(o); yamlErr == nil {
			return root, nil
		} else if !bytes.HasPrefix(bytes.TrimLeft(s.text, "{ \t\r\n"), []byte(`"`)) {
			return nil, yamlErr
		}
		return nil, err
	}
	return s.parseYAML(o)
}

// jsonReader reads JSON (RFC 8259) into the nodes that YAML becomes.
type jsonReader struct {
	source *source
	at     int
	line   int // of at, from 1
	begin  int // where the line begins
	depth  int
}

// jsonFault ends the reading; it never leaves parseJSON.
type jsonFault struct{ problem Problem }

func (s *source) parseJSON(depth int) (root *yaml.Node, err error) {
	r := &jsonReader{source: s, line: 1, depth: depth}
	defer func() {
		if fault := recover(); fault != nil {
			f, ok := fault.(jsonFault)
			if !ok {
				panic(fault)
			}
			root, err = nil, single(f.problem)
		}
	}()
	r.space()
	root = r.value()
	r.space()
	if r.at < len(s.text) {
		r.fail("something behind the end of the JSON value", "put one object into a file")
	}
	return root, nil
}

func (r *jsonReader) fail(message, suggestion string) {
	at := min(r.at, len(r.source.text))
	panic(jsonFault{r.source.problem(span{at, at}, "", "not readable as JSON: "+message, suggestion)})
}

// peek returns the next byte, 0 at the end.
func (r *jsonReader) peek() byte {
	if r.at < len(r.source.text) {
		return r.source.text[r.at]
	}
	return 0
}

func (r *jsonReader) space() {
	for t := r.source.text; r.at < len(t); r.at++ {
		switch t[r.at] {
		case ' ', '\t':
		case '\r':
			if r.at+1 < len(t) && t[r.at+1] == '\n' {
				r.at++
			}
			r.line, r.begin = r.line+1, r.at+1
		case '\n':
			r.line, r.begin = r.line+1, r.at+1
		default:
			return
		}
	}
}

// node begins a node at the current place.
func (r *jsonReader) node(kind yaml.Kind, style yaml.Style) *yaml.Node {
	return &yaml.Node{Kind: kind, Style: style, Line: r.line, Column: r.source.column(r.line, r.begin, r.at)}
}

func (r *jsonReader) value() *yaml.Node {
	switch c := r.peek(); {
	case c == '{':
		return r.list(yaml.MappingNode, '}')
	case c == '[':
		return r.list(yaml.SequenceNode, ']')
	case c == '"':
		n := r.node(yaml.ScalarNode, yaml.DoubleQuotedStyle)
		n.Value = r.text()
		return n
	case c == '-' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z':
		n := r.node(yaml.ScalarNode, 0)
		begin := r.at
		for c := r.peek(); c == '-' || c == '+' || c == '.' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c == 'E'; c = r.peek() {
			r.at++
		}
		n.Value = string(r.source.text[begin:r.at])
		switch n.Value {
		case "true", "false", "null":
			return n
		}
		if _, err := plainNumber(n.Value); err != nil {
			r.at = begin
			r.fail(quote(n.Value)+" is no value", "put texts into double quotes")
		}
		return n
	case r.at >= len(r.source.text):
		r.fail("the file ends too early", "close every brace and bracket")
	case c == '\'':
		r.fail("single quotes", "put texts into double quotes")
	case c == '/' || c == '#':
		r.fail("a comment", "JSON has no comments; the YAML syntax has them")
	case c == ']' || c == '}':
		r.fail("a value is missing", "remove the comma before "+quote(string(c)))
	default:
		ch, _ := utf8.DecodeRune(r.source.text[r.at:])
		r.fail("unexpected "+quote(string(ch)), "put texts into double quotes")
	}
	return nil
}

// list reads an object or an array.
func (r *jsonReader) list(kind yaml.Kind, end byte) *yaml.Node {
	n := r.node(kind, yaml.FlowStyle)
	if r.depth--; r.depth < 0 {
		r.fail("nested too deeply", "nest the elements less deeply")
	}
	r.at++
	r.space()
	for r.peek() != end {
		if kind == yaml.MappingNode {
			if r.peek() != '"' {
				r.fail("a key in double quotes is needed here", "write \"key\": value, without a comma behind the last one")
			}
			key := r.node(yaml.ScalarNode, yaml.DoubleQuotedStyle)
			key.Value = r.text()
			r.space()
			if r.peek() != ':' {
				r.fail("a colon is needed behind the key", "write \"key\": value")
			}
			r.at++
			r.space()
			n.Content = append(n.Content, key)
		}
		n.Content = append(n.Content, r.value())
		r.space()
		switch r.peek() {
		case ',':
			r.at++
			r.space()
			if r.peek() == end {
				r.fail("a comma before "+quote(string(end)), "remove the comma")
			}
		case end:
		default:
			r.fail("a comma or "+quote(string(end))+" is needed here", "close every brace, bracket and quote, and put commas between values")
		}
	}
	r.at++
	r.depth++
	return n
}

// text reads a string and resolves its escapes.
func (r *jsonReader) text() string {
	t := r.source.text
	r.at++
	begin := r.at
	var b strings.Builder
	for r.at < len(t) {
		switch c := t[r.at]; c {
		case '"':
			b.Write(t[begin:r.at])
			r.at++
			return b.String()
		case '\n', '\r', '\t':
			r.fail("a line break or tab inside quotes", `write \n or \t, and close the quotes`)
		case '\\':
			b.Write(t[begin:r.at])
			b.WriteString(r.escape())
			begin = r.at
		default:
			r.at++
		}
	}
	r.fail("the file ends inside quotes", "close the quotes")
	return ""
}

// escape reads an escape sequence.
func (r *jsonReader) escape() string {
	t := r.source.text
	const simple = `"\/bfnrt`
	if r.at+1 < len(t) {
		if i := strings.IndexByte(simple, t[r.at+1]); i >= 0 {
			r.at += 2
			return "\"\\/\b\f\n\r\t"[i : i+1]
		}
	}
	first := r.unit()
	if !utf16.IsSurrogate(first) {
		return string(first)
	}
	if pair := utf16.DecodeRune(first, r.unit()); pair != utf8.RuneError {
		return string(pair)
	}
	r.fail("half of a surrogate pair", `write both halves, as \ud83d\ude00, or the character itself`)
	return ""
}

// unit reads \u and four hexadecimal digits.
func (r *jsonReader) unit() rune {
	t := r.source.text
	if r.at+6 <= len(t) && t[r.at] == '\\' && t[r.at+1] == 'u' {
		if u, err := strconv.ParseUint(string(t[r.at+2:r.at+6]), 16, 16); err == nil {
			r.at += 6
			return rune(u)
		}
	}
	r.fail("a broken escape", fmt.Sprintf("write one of %s, or %s and four hexadecimal digits", `\" \\ \/ \b \f \n \r \t`, `\u`))
	return 0
}
