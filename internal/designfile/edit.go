package designfile

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strings"
)

// TextEdit replaces a piece of a file. Everything else, comments and layout, stays as it is.
type TextEdit struct {
	// From and To bound the piece, in bytes of the file without a byte order mark.
	From, To int
	// Old is what must stand there.
	Old string
	// New takes its place.
	New string
}

// ApplyEdits makes edits in a text. It refuses edits that overlap, that lie outside the text, and that expect another text
// than the one which stands there; the text is then unchanged. Edits may come in any order; insertions at one place are made
// in the order given.
func ApplyEdits(text []byte, edits []TextEdit) ([]byte, error) {
	sorted := slices.Clone(edits)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].From < sorted[j].From })
	var out bytes.Buffer
	last := 0
	for _, e := range sorted {
		switch {
		case e.From < 0 || e.To < e.From || e.To > len(text):
			return nil, fmt.Errorf("an edit of the bytes %d to %d lies outside the text of %d bytes", e.From, e.To, len(text))
		case e.From < last:
			return nil, fmt.Errorf("two edits overlap at byte %d", e.From)
		case string(text[e.From:e.To]) != e.Old:
			return nil, fmt.Errorf("at byte %d stands %q, not %q", e.From, cutText(string(text[e.From:e.To])), cutText(e.Old))
		}
		out.Write(text[last:e.From])
		out.WriteString(e.New)
		last = e.To
	}
	out.Write(text[last:])
	return out.Bytes(), nil
}

func cutText(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}

// Editor makes edits of a design file in YAML by element path. It knows places, not meanings: what it makes must be read
// again.
type Editor struct {
	text      []byte
	positions *Positions
}

// NewEditor gives an editor for a file that was read; false for a form whose layout is not kept, which is every form but YAML
// with plain line feeds.
func NewEditor(f *File) (*Editor, bool) {
	if f.Form != YAML || f.Positions == nil || f.Positions.source == nil || bytes.IndexByte(f.Positions.source.text, '\r') >= 0 {
		return nil, false
	}
	return &Editor{f.Positions.source.text, f.Positions}, true
}

// Text is the file, without a byte order mark.
func (e *Editor) Text() []byte { return e.text }

func (e *Editor) edit(from, to int, text string) TextEdit {
	return TextEdit{from, to, string(e.text[from:to]), text}
}

// Replace changes a scalar value; false where the path names none.
func (e *Editor) Replace(path, text string) (TextEdit, bool) {
	at, ok := e.positions.entries[path]
	if !ok || !at.scalar {
		return TextEdit{}, false
	}
	return e.edit(at.value.from, at.value.to, text), true
}

// flow tells whether a value is spelt in brackets.
func (e *Editor) flow(at entry) bool {
	return at.value.from < len(e.text) && (e.text[at.value.from] == '{' || e.text[at.value.from] == '[')
}

// lineStart is the first byte of the line that a byte lies in.
func (e *Editor) lineStart(at int) int { return bytes.LastIndexByte(e.text[:at], '\n') + 1 }

// lineEnd is the byte behind the line that a byte lies in, its end included.
func (e *Editor) lineEnd(at int) int {
	if n := bytes.IndexByte(e.text[at:], '\n'); n >= 0 {
		return at + n + 1
	}
	return len(e.text)
}

// ownLine tells whether nothing but white space stands before a byte on its line.
func (e *Editor) ownLine(at int) bool {
	return len(bytes.TrimSpace(e.text[e.lineStart(at):at])) == 0
}

// Set gives a member of a mapping a value, whether it has one already or not; false where the mapping cannot take one.
func (e *Editor) Set(path, key, value string) (TextEdit, bool) {
	if one, ok := e.Replace(Child(path, key), value); ok {
		return one, true
	}
	at, ok := e.positions.entries[path]
	_, has := e.positions.entries[Child(path, key)]
	switch {
	case !ok || at.scalar || has:
		return TextEdit{}, false
	case e.flow(at) && e.text[at.value.from] == '{':
		rest := bytes.TrimLeft(e.text[at.value.from+1:at.value.to], " \t\r\n")
		text := key + ": " + value
		if len(rest) > 0 && rest[0] != '}' {
			text += ", "
		}
		return e.edit(at.value.from+1, at.value.from+1, text), true
	case at.value.from > at.key.from && e.ownLine(at.value.from):
		indent := string(e.text[e.lineStart(at.value.from):at.value.from])
		return e.edit(at.value.from, at.value.from, key+": "+value+"\n"+indent), true
	}
	return TextEdit{}, false
}

// InsertItem puts an item before another one of a list.
func (e *Editor) InsertItem(before, text string) (TextEdit, bool) {
	at, ok := e.positions.entries[before]
	list := strings.LastIndexByte(before, '[')
	if !ok || list < 0 {
		return TextEdit{}, false
	}
	around, known := e.positions.entries[before[:list]]
	if !known || at.value.from == at.value.to {
		return TextEdit{}, false
	}
	if e.flow(around) {
		return e.edit(at.value.from, at.value.from, text+", "), true
	}
	start := e.lineStart(at.value.from)
	dash := bytes.IndexByte(e.text[start:at.value.from], '-')
	if dash < 0 {
		return TextEdit{}, false
	}
	indent := string(e.text[start : start+dash])
	return e.edit(start, start, indent+"- "+text+"\n"), true
}

// InsertEntry puts an entry behind another one of a mapping, in a line of its own where the mapping is laid out so.
func (e *Editor) InsertEntry(behind, key, value string) (TextEdit, bool) {
	at, ok := e.positions.entries[behind]
	if !ok {
		return TextEdit{}, false
	}
	end := max(at.key.to, at.value.to)
	if !e.ownLine(at.key.from) {
		return e.edit(end, end, ", "+key+": "+value), true
	}
	indent := string(e.text[e.lineStart(at.key.from):at.key.from])
	stop := e.lineEnd(end)
	text := indent + key + ": " + value + "\n"
	if stop == len(e.text) && (stop == 0 || e.text[stop-1] != '\n') {
		text = "\n" + strings.TrimSuffix(text, "\n")
	}
	// What follows the entry on its line must be nothing but a comment.
	if rest := bytes.TrimSpace(e.text[end:stop]); len(rest) > 0 && rest[0] != '#' {
		return TextEdit{}, false
	}
	return e.edit(stop, stop, text), true
}

// RemoveEntry takes an entry out of a mapping, with its line where it has one of its own.
func (e *Editor) RemoveEntry(path string) (TextEdit, bool) {
	at, ok := e.positions.entries[path]
	if !ok {
		return TextEdit{}, false
	}
	from, to := at.key.from, max(at.key.to, at.value.to)
	rest := bytes.TrimSpace(e.text[to:e.lineEnd(to)])
	if e.ownLine(from) && (len(rest) == 0 || rest[0] == '#') {
		return e.edit(e.lineStart(from), e.lineEnd(to), ""), true
	}
	// One comma goes with it: that behind it, or before it where it is the last.
	behind := to + len(e.text[to:]) - len(bytes.TrimLeft(e.text[to:], " \t\r\n"))
	if behind < len(e.text) && e.text[behind] == ',' {
		behind++
		for behind < len(e.text) && e.text[behind] == ' ' {
			behind++
		}
		return e.edit(from, behind, ""), true
	}
	before := bytes.TrimRight(e.text[:from], " \t\r\n")
	if len(before) > 0 && before[len(before)-1] == ',' {
		return e.edit(len(before)-1, to, ""), true
	}
	if len(before) > 0 && before[len(before)-1] == '{' {
		return e.edit(from, to, ""), true
	}
	return TextEdit{}, false
}
