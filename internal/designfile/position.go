package designfile

import (
	"sort"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Position is a place in a file. Lines and columns count from 1, columns in
// code points; the end is the column behind the last character.
type Position struct {
	File               string
	Line, Column       int
	EndLine, EndColumn int
	// Path is the element that stands there. It may be an outer one of the
	// element that was asked for.
	Path string
	// Text is the original text: the value of a scalar, or the key of a mapping
	// or list, shortened to 200 code points.
	Text string
}

// span is a piece of the source, in bytes.
type span struct{ from, to int }

// entry is what is known about one element.
type entry struct {
	key     span // the key, or the value where there is no key
	value   span
	style   yaml.Style
	scalar  bool   // the value is a scalar
	decoded string // the value of a scalar without quotes and indentation
}

// Positions leads from the path of an element to its place in a file. A nil
// table knows no places.
type Positions struct {
	file    string
	source  *source
	entries map[string]entry
}

// File returns the name of the file.
func (p *Positions) File() string {
	if p == nil {
		return ""
	}
	return p.file
}

// Find returns the place of an element: of its value when that is a scalar, and
// of its key when it is a mapping or a list. For a path that the file does not
// contain it returns the nearest element around it. It returns false when the
// file has no lines.
func (p *Positions) Find(path string) (Position, bool) {
	return p.find(path, func(e entry) span {
		if e.scalar {
			return e.value
		}
		return e.key
	})
}

// Paths returns the paths of all elements, in the order of the file.
func (p *Positions) Paths() []string {
	if p == nil {
		return nil
	}
	all := make([]string, 0, len(p.entries))
	for path := range p.entries {
		all = append(all, path)
	}
	sort.Slice(all, func(i, j int) bool {
		a, b := p.entries[all[i]], p.entries[all[j]]
		if a.key.from != b.key.from {
			return a.key.from < b.key.from
		}
		return all[i] < all[j]
	})
	return all
}

// Within returns the place of a character of a scalar, given as its offset in
// bytes in the decoded value. It sees through quotes, escapes and the
// indentation of block scalars. It returns false when the element is not a
// scalar of the file.
func (p *Positions) Within(path string, offset int) (Position, bool) {
	if p == nil {
		return Position{}, false
	}
	e, ok := p.entries[path]
	if !ok || !e.scalar {
		return Position{}, false
	}
	at := p.source.within(e, offset)
	position := p.place(span{at, min(at+1, max(at, e.value.to))})
	position.Path = path
	return position, true
}

func (p *Positions) find(path string, choose func(entry) span) (Position, bool) {
	if p == nil || p.source == nil {
		return Position{}, false
	}
	for {
		if e, ok := p.entries[path]; ok {
			position := p.place(choose(e))
			position.Path = path
			return position, true
		}
		if path == "" {
			return Position{}, false
		}
		path = parentPath(path)
	}
}

// place turns a piece of the source into lines and columns.
func (p *Positions) place(s span) Position {
	const most = 200
	line, column := p.source.position(s.from)
	endLine, endColumn := p.source.position(s.to)
	text := string(p.source.text[s.from:min(s.to, s.from+utf8.UTFMax*(most+1))])
	if r := []rune(text); len(r) > most {
		text = string(r[:most]) + "..."
	}
	return Position{File: p.file, Line: line, Column: column, EndLine: endLine, EndColumn: endColumn, Text: text}
}

// parentPath removes the last step of a path.
func parentPath(path string) string {
	if strings.HasSuffix(path, `"]`) {
		if i := strings.LastIndex(path, `["`); i >= 0 {
			return path[:i]
		}
	}
	return path[:max(strings.LastIndexAny(path, ".["), 0)]
}
