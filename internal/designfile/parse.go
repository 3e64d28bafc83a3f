package designfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"
)

// checkSize refuses an empty or oversized file before its bytes are looked at.
func checkSize(name string, data []byte, o Options) error {
	one := Problem{File: name, Line: 1, Column: 1, EndLine: 1, EndColumn: 1}
	switch {
	case len(data) > o.MaxBytes:
		one.Message = fmt.Sprintf("the file has %d bytes; the limit is %d", len(data), o.MaxBytes)
		one.Suggestion = "split the design, or raise the limit"
	case len(bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))) == 0:
		one.Message = "the file is empty"
		if o.Header != "" {
			one.Suggestion = fmt.Sprintf("begin it with \"%s: %s\"", o.Header, o.Version)
		}
	default:
		return nil
	}
	return single(one)
}

// checkSeparators refuses a text that would become more elements than allowed.
// Every key, value and item follows a separator, so counting those bounds the
// work and memory of the parser before it begins.
func (s *source) checkSeparators(most int) error {
	count := 0
	t := s.text
	for i, c := range t {
		switch c {
		case ':', ',', '[', '{', '<':
			count++
		case '-', '?', '&', '*', '!':
			// Indicators only at the head of an element.
			if i == 0 || bytes.IndexByte([]byte(" \t\r\n[{,:&*!?-"), t[i-1]) >= 0 {
				count++
			}
		}
		if count > most {
			return single(s.problem(span{i, i + 1}, "", fmt.Sprintf("more than %d elements", most), "split the file"))
		}
	}
	return nil
}

// parseYAML reads YAML and returns the root node of the only document of the text.
func (s *source) parseYAML(o Options) (*yaml.Node, error) {
	if s.odd != nil {
		return nil, s.odd
	}
	loader, err := yaml.NewLoader(bytes.NewReader(s.text), yaml.WithV4Defaults(),
		yaml.WithPlugin(loaderlimits.New(loaderlimits.DepthValue(o.MaxDepth), loaderlimits.AliasNone())))
	if err != nil {
		return nil, err
	}
	var document yaml.Node
	if err := loader.Load(&document); err != nil {
		return nil, s.syntaxProblem(err)
	}
	if document.Kind != yaml.DocumentNode || len(document.Content) != 1 {
		return nil, single(s.problem(span{}, "", "the file holds no document", ""))
	}
	var second yaml.Node
	switch err := loader.Load(&second); {
	case err == nil:
		at := s.offset(second.Line, second.Column)
		return nil, single(s.problem(span{at, at}, "", "a second document in one file", "put each document into a file of its own; \"---\" may stand only at the beginning"))
	case !errors.Is(err, io.EOF):
		return nil, s.syntaxProblem(err)
	}
	return document.Content[0], nil
}

// syntaxProblem turns an error of the YAML library into a problem with a
// position and, for the usual slips, a suggestion.
func (s *source) syntaxProblem(err error) error {
	if errors.Is(err, io.EOF) {
		return single(s.problem(span{}, "", "the file holds nothing but comments", ""))
	}
	var load *yaml.LoadError
	if !errors.As(err, &load) {
		return single(s.problem(span{}, "", "not readable as YAML: "+strings.TrimPrefix(err.Error(), "yaml: "), ""))
	}
	mark := load.Mark
	at := s.offset(mark.Line, mark.Column)
	// What is not closed is found at the end of the file, but begins elsewhere.
	if begin := load.ContextMark; begin.Line > 0 && (mark.Line == 0 || at >= len(bytes.TrimRight(s.text, " \t\r\n"))) {
		at = s.offset(begin.Line, begin.Column)
	}
	message := load.Message
	if load.ContextMsg != "" {
		message += " " + load.ContextMsg
	}
	return single(s.problem(span{at, at}, "", "not readable as YAML: "+message, s.syntaxHint(at, load.Message)))
}

// syntaxHint explains the usual slips.
func (s *source) syntaxHint(at int, message string) string {
	next := byte(0)
	if at < len(s.text) {
		next = s.text[at]
	}
	switch {
	case next == '\t' || strings.Contains(message, "tab character"):
		return "indent with spaces, not with tabs"
	case strings.Contains(message, "max depth"):
		return "nest the elements less deeply"
	case strings.Contains(message, "mapping values are not allowed"):
		return "put a text that contains \": \" into quotes, and indent the keys of one mapping alike"
	case next == '@' || next == '`' || next == '%':
		return "put the text into quotes"
	case strings.Contains(message, "unexpected end of stream"):
		return "close the quotes or brackets"
	case strings.Contains(message, "expected"):
		return "indent the elements of one mapping or list alike, and close every bracket and quote"
	}
	return ""
}
