package designfile

import (
	"encoding/json"
	"strings"
	"unicode/utf8"
)

// width is the longest line that elements are joined on, in characters.
const width = 120

// layout writes a spelling in YAML or JSON. What fits on a line of 120
// characters is put on one, so that a component or a line takes one line;
// the top of a file is always spread out.
type layout struct {
	out  strings.Builder
	json bool
}

func writeYAML(s *spelling) []byte {
	var l layout
	l.mapping(s, 0, 0)
	return []byte(l.out.String())
}

func writeJSON(s *spelling) []byte {
	l := layout{json: true}
	l.spread(s, 0, 0)
	l.out.WriteByte('\n')
	return []byte(l.out.String())
}

// key spells a key.
func (l *layout) key(s *spelling, i int) string {
	if l.json || s.named && !plainText(s.keys[i], true) {
		return quoteText(s.keys[i])
	}
	return s.keys[i]
}

// scalar spells a scalar on one line.
func (l *layout) scalar(s *spelling, inBrackets bool) string {
	switch {
	case s.bare && (!l.json || json.Valid([]byte(s.text))):
		return s.text
	case !l.json && plainText(s.text, inBrackets):
		return s.text
	}
	return quoteText(s.text)
}

// joined spells anything on one line. It returns false when that takes more
// than room characters.
func (l *layout) joined(s *spelling, room int) (string, bool) {
	if s.kind == scalarSpelling {
		text := l.scalar(s, true)
		return text, utf8.RuneCountInString(text) <= room
	}
	var b strings.Builder
	brackets := "{}"
	if s.kind == listSpelling {
		brackets = "[]"
	}
	b.WriteByte(brackets[0])
	used := 2
	for i, part := range s.parts {
		before := ""
		if i > 0 {
			before = ", "
		}
		if s.kind == mappingSpelling {
			before += l.key(s, i) + ": "
		}
		used += utf8.RuneCountInString(before)
		text, ok := l.joined(part, room-used)
		if !ok {
			return "", false
		}
		used += utf8.RuneCountInString(text)
		b.WriteString(before)
		b.WriteString(text)
	}
	b.WriteByte(brackets[1])
	return b.String(), used <= room
}

func (l *layout) indent(n int) {
	for range n {
		l.out.WriteByte(' ')
	}
}

// mapping writes the entries of a mapping in YAML, one a line. The first one
// begins where the writer stands; depth counts the mappings around it.
func (l *layout) mapping(s *spelling, indent, depth int) {
	for i, part := range s.parts {
		if depth == 0 && i > 0 && part.kind != scalarSpelling {
			l.out.WriteByte('\n')
		}
		if i > 0 {
			l.indent(indent)
		}
		key := l.key(s, i) + ":"
		l.out.WriteString(key)
		l.value(part, indent, utf8.RuneCountInString(key), depth)
	}
}

// value writes what follows a key or a dash in YAML.
func (l *layout) value(s *spelling, indent, used, depth int) {
	if s.kind == scalarSpelling {
		if header, ok := blockText(s.text); ok && !s.bare {
			l.out.WriteString(" " + header + "\n")
			for line := range strings.SplitSeq(strings.TrimSuffix(s.text, "\n"), "\n") {
				if line != "" {
					l.indent(indent + 2)
				}
				l.out.WriteString(line + "\n")
			}
			return
		}
		l.out.WriteString(" " + l.scalar(s, false) + "\n")
		return
	}
	if depth > 0 || len(s.parts) == 0 {
		if text, ok := l.joined(s, width-indent-used-1); ok {
			l.out.WriteString(" " + text + "\n")
			return
		}
	}
	l.out.WriteByte('\n')
	if s.kind == mappingSpelling {
		l.indent(indent + 2)
		l.mapping(s, indent+2, depth+1)
		return
	}
	for _, part := range s.parts {
		l.indent(indent + 2)
		l.out.WriteByte('-')
		if part.kind == mappingSpelling && len(part.parts) > 0 {
			if _, ok := l.joined(part, width-indent-4); !ok {
				l.out.WriteByte(' ')
				l.mapping(part, indent+4, depth+2)
				continue
			}
		}
		l.value(part, indent+2, 1, depth+1)
	}
}

// spread writes anything in JSON, one entry a line where it does not fit on one.
func (l *layout) spread(s *spelling, indent, depth int) {
	if s.kind == scalarSpelling {
		l.out.WriteString(l.scalar(s, true))
		return
	}
	brackets := "{}"
	if s.kind == listSpelling {
		brackets = "[]"
	}
	l.out.WriteByte(brackets[0])
	for i, part := range s.parts {
		if i > 0 {
			l.out.WriteByte(',')
		}
		l.out.WriteByte('\n')
		l.indent(indent + 2)
		used := 1
		if s.kind == mappingSpelling {
			key := l.key(s, i) + ": "
			l.out.WriteString(key)
			used += utf8.RuneCountInString(key)
		}
		if depth > 0 || len(part.parts) == 0 {
			if text, ok := l.joined(part, width-indent-2-used); ok {
				l.out.WriteString(text)
				continue
			}
		}
		l.spread(part, indent+2, depth+1)
	}
	if len(s.parts) > 0 {
		l.out.WriteByte('\n')
		l.indent(indent)
	}
	l.out.WriteByte(brackets[1])
}
