package designfile

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// source is the text of a file with an index of its lines.
type source struct {
	name  string
	text  []byte  // without byte order mark
	lines []int32 // where each line begins
	ascii []bool  // the line consists of ASCII, so columns are bytes
	runes []int32 // how many characters begin before each 256th byte; only if some line is not ASCII
	odd   error   // the first character that JSON allows and YAML does not
}

// newSource checks that data is UTF-8 text and indexes its lines.
func newSource(name string, data []byte) (*source, error) {
	fail := func(message, suggestion string) (*source, error) {
		return nil, single(Problem{File: name, Line: 1, Column: 1, EndLine: 1, EndColumn: 1, Message: message, Suggestion: suggestion})
	}
	if encoding := foreignEncoding(data); encoding != "" {
		return fail("the file is encoded in "+encoding, "save it as UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	count := bytes.Count(data, []byte("\n")) + bytes.Count(data, []byte("\r")) + 2
	s := &source{name: name, text: data, lines: make([]int32, 1, count), ascii: make([]bool, 0, count)}
	ascii := true
	for i := 0; i < len(data); {
		c := data[i]
		switch {
		case c == '\n' || c == '\r':
			if c == '\r' && i+1 < len(data) && data[i+1] == '\n' {
				i++
			}
			s.ascii = append(s.ascii, ascii)
			s.lines = append(s.lines, int32(i+1))
			ascii = true
		case c < ' ' && c != '\t':
			s.ascii = append(s.ascii, ascii)
			if c == 0 {
				return nil, single(s.problem(span{i, i + 1}, "", "a NUL byte: this is not a text file", "save the design as UTF-8 text, or name the file .binpb if it is binary protobuf"))
			}
			return nil, single(s.problem(span{i, i + 1}, "", fmt.Sprintf("the control character U+%04X", c), "remove it"))
		case c == 0x7f:
			s.notOdd(i, 1, ascii)
		case c >= utf8.RuneSelf:
			ascii = false
			r, size := utf8.DecodeRune(data[i:])
			if r == utf8.RuneError && size <= 1 {
				s.ascii = append(s.ascii, ascii)
				return nil, single(s.problem(span{i, i}, "", fmt.Sprintf("not valid UTF-8 (byte 0x%02X)", c), "save the file as UTF-8; it may be in Latin-1 or another single-byte encoding"))
			}
			if !visible(r) {
				s.notOdd(i, size, ascii)
			}
			i += size - 1
		}
		i++
	}
	s.ascii = append(s.ascii, ascii)
	if slices.Contains(s.ascii, false) {
		count := 0
		for i := 0; i <= len(data); i += stride {
			s.runes = append(s.runes, int32(count))
			count += starts(data[i:min(i+stride, len(data))])
		}
	}
	return s, nil
}

// stride is the distance of the places where characters are counted, so that a
// column in a very long line is found without walking through all of it.
const stride = 256

// starts counts the bytes that begin a character.
func starts(t []byte) int {
	n := 0
	for _, c := range t {
		if utf8.RuneStart(c) {
			n++
		}
	}
	return n
}

// runesBefore returns how many characters begin before a byte.
func (s *source) runesBefore(at int) int {
	if s.runes == nil {
		return starts(s.text[:at])
	}
	i := at / stride
	return int(s.runes[i]) + starts(s.text[i*stride:at])
}

// column returns the column of a byte in the line that begins at another one.
func (s *source) column(line, begin, at int) int {
	if s.ascii[line-1] {
		return at - begin + 1
	}
	return s.runesBefore(at) - s.runesBefore(begin) + 1
}

// notOdd keeps the first character that may not stand in YAML. Among those are
// line separators that would upset the count of lines.
func (s *source) notOdd(at, size int, ascii bool) {
	if s.odd != nil {
		return
	}
	s.ascii = append(s.ascii, ascii)
	r, _ := utf8.DecodeRune(s.text[at:])
	s.odd = single(s.problem(span{at, at + size}, "", fmt.Sprintf("the invisible character U+%04X", r), "remove it, or write it as an escape in double quotes"))
	s.ascii = s.ascii[:len(s.ascii)-1]
}

// foreignEncoding recognises Unicode encodings other than UTF-8 by their byte
// order mark, or by the NUL bytes among the first characters.
func foreignEncoding(data []byte) string {
	head := data[:min(len(data), 4)]
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe, 0, 0}), bytes.HasPrefix(head, []byte{0, 0, 0xfe, 0xff}):
		return "UTF-32"
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return "UTF-16"
	case len(head) == 4 && head[0] != 0 && head[1] == 0 && head[2] != 0 && head[3] == 0,
		len(head) == 4 && head[0] == 0 && head[1] != 0 && head[2] == 0 && head[3] != 0:
		return "UTF-16"
	}
	return ""
}

// position returns line and column of a byte.
func (s *source) position(at int) (line, column int) {
	i := sort.Search(len(s.lines), func(i int) bool { return int(s.lines[i]) > at }) - 1
	return i + 1, s.column(i+1, int(s.lines[i]), at)
}

// offset returns the byte at a line and column, or the nearest one.
func (s *source) offset(line, column int) int {
	if line < 1 {
		return 0
	}
	if line > len(s.lines) {
		return len(s.text)
	}
	at, end := int(s.lines[line-1]), len(s.text)
	if line < len(s.lines) {
		end = int(s.lines[line])
	}
	if s.ascii[line-1] {
		return min(at+max(column-1, 0), end)
	}
	if s.runes != nil {
		wanted := s.runesBefore(at) + column - 1
		i := sort.Search(len(s.runes), func(i int) bool { return int(s.runes[i]) > wanted }) - 1
		if from := i * stride; from > at {
			// The mark may lie inside of a character; step to the next one.
			for at = from; at < end && !utf8.RuneStart(s.text[at]); at++ {
			}
			column = wanted - int(s.runes[i]) + 1
		}
	}
	for ; column > 1 && at < end; column-- {
		_, size := utf8.DecodeRune(s.text[at:])
		at += size
	}
	return min(at, end)
}

// problem returns a problem at a piece of the source.
func (s *source) problem(at span, path, message, suggestion string) Problem {
	p := Problem{File: s.name, Path: path, Message: message, Suggestion: suggestion}
	p.Line, p.Column = s.position(at.from)
	p.EndLine, p.EndColumn = s.position(max(at.from, at.to))
	return p
}

// scalarEnd returns the byte behind a scalar that begins at from.
func (s *source) scalarEnd(from int, style yaml.Style, value string) int {
	t := s.text
	switch {
	case style&yaml.DoubleQuotedStyle != 0:
		for i := from + 1; i < len(t); i++ {
			switch t[i] {
			case '\\':
				i++
			case '"':
				return i + 1
			}
		}
		return len(t)
	case style&yaml.SingleQuotedStyle != 0:
		for i := from + 1; i < len(t); i++ {
			if t[i] != '\'' {
				continue
			}
			if i+1 < len(t) && t[i+1] == '\'' {
				i++
				continue
			}
			return i + 1
		}
		return len(t)
	case style&(yaml.LiteralStyle|yaml.FoldedStyle) == 0 && bytes.HasPrefix(t[from:], []byte(value)):
		return from + len(value)
	}
	return s.align(from, style, value, len(value))
}

// within returns the byte of the source that holds the byte at offset of a
// decoded scalar.
func (s *source) within(e entry, offset int) int {
	offset = min(max(offset, 0), len(e.decoded))
	if e.style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) == 0 &&
		bytes.HasPrefix(s.text[e.value.from:], []byte(e.decoded)) {
		return e.value.from + offset
	}
	return min(s.align(e.value.from, e.style, e.decoded, offset), e.value.to)
}

// align walks through a decoded scalar and its source side by side, up to a
// byte of the decoded value, and returns the byte of the source. Characters
// that are not white space stand in both in the same order; white space may be
// folded, indented or escaped, so it is matched loosely.
func (s *source) align(from int, style yaml.Style, value string, offset int) int {
	t := s.text
	at := from
	double := style&yaml.DoubleQuotedStyle != 0
	single := style&yaml.SingleQuotedStyle != 0
	switch {
	case double || single:
		at++
	case style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		// The header, as "|-" or ">2", with its comment.
		for at < len(t) && t[at] != '\n' && t[at] != '\r' {
			at++
		}
	}
	white := func(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }
	behind := at
	for i := 0; i < len(value); {
		if white(value[i]) && !(double && at < len(t) && t[at] == '\\') {
			if i >= offset {
				return max(behind, min(at, len(t)))
			}
			if at < len(t) && (t[at] == ' ' || t[at] == '\t') {
				at++
			}
			i++
			continue
		}
		for at < len(t) && white(t[at]) {
			at++
		}
		if i >= offset {
			return min(at, len(t))
		}
		_, size := utf8.DecodeRuneInString(value[i:])
		switch {
		case at >= len(t):
		case double && t[at] == '\\':
			n := escapeLength(t[at:])
			if n == 0 { // an escaped line break stands for nothing
				at++
				continue
			}
			at += n
		case single && t[at] == '\'':
			at += 2
		default:
			at += size
		}
		i += size
		behind = at
	}
	return min(behind, len(t))
}

// escapeLength returns the length of an escape sequence of a double-quoted
// scalar, or 0 for an escaped line break.
func escapeLength(t []byte) int {
	if len(t) < 2 {
		return 1
	}
	switch t[1] {
	case '\n', '\r':
		return 0
	case 'x':
		return 4
	case 'u':
		// JSON writes one character beyond U+FFFF as two halves.
		if len(t) >= 12 && t[6] == '\\' && t[7] == 'u' && (t[2] == 'd' || t[2] == 'D') &&
			bytes.IndexByte([]byte("89abAB"), t[3]) >= 0 {
			return 12
		}
		return 6
	case 'U':
		return 10
	}
	return 2
}
