package designfile

import (
	"strconv"
	"strings"
)

// maxTag is the longest tag, in characters.
const maxTag = 64

// validTag reports whether s may be a tag or another key of a mapping: letters,
// digits, "-", "_" and "/", first a letter or digit, at most 64 characters.
func validTag(s string) bool {
	if s == "" || len(s) > maxTag {
		return false
	}
	for i := range len(s) {
		c := s[i]
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9':
		case i > 0 && (c == '-' || c == '_' || c == '/'):
		default:
			return false
		}
	}
	return true
}

// Child returns the path of a named element inside another. A name that could
// be taken for something else stands in brackets and quotes.
func Child(path, name string) string {
	switch {
	case !validTag(name):
		return path + "[" + strconv.Quote(name) + "]"
	case path == "":
		return name
	}
	return path + "." + name
}

// Item returns the path of an element of a list that is not keyed, counted
// from 0.
func Item(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }

// step is one part of a path: a name, or the index of a list.
type step struct {
	name  string
	index int // -1 for a name
}

// steps splits a path. It returns false for a text that is none.
func steps(path string) ([]step, bool) {
	var all []step
	for rest := path; rest != ""; {
		switch {
		case strings.HasPrefix(rest, `["`):
			quoted, err := strconv.QuotedPrefix(rest[1:])
			if err != nil || !strings.HasPrefix(rest[1+len(quoted):], "]") {
				return nil, false
			}
			name, err := strconv.Unquote(quoted)
			if err != nil {
				return nil, false
			}
			all = append(all, step{name, -1})
			rest = rest[len(quoted)+2:]
		case rest[0] == '[':
			end := strings.IndexByte(rest, ']')
			if end < 0 {
				return nil, false
			}
			i, err := strconv.Atoi(rest[1:end])
			if err != nil || i < 0 || len(all) == 0 {
				return nil, false
			}
			all = append(all, step{"", i})
			rest = rest[end+1:]
		default:
			if len(all) > 0 {
				if rest[0] != '.' {
					return nil, false
				}
				rest = rest[1:]
			}
			end := strings.IndexAny(rest, ".[")
			if end < 0 {
				end = len(rest)
			}
			if end == 0 {
				return nil, false
			}
			all = append(all, step{rest[:end], -1})
			rest = rest[end:]
		}
	}
	return all, len(all) > 0
}
