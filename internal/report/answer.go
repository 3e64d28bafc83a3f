package report

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Answer is the report about one design file.
type Answer struct {
	// File is the name to show.
	File   string
	Report *skidrulev1.Report
	// Positions lead from element paths to places in the file; nil where the file has no lines.
	Positions *designfile.Positions
	// Fixes are edits that a program may make without asking, by the fingerprint of the finding that each mends. They stand in SARIF
	// alone.
	Fixes map[string]Fix
}

// Fix is an edit of the file as it is, made whole or not at all.
type Fix struct {
	// Words say what is changed.
	Words   string
	Changes []FixChange
}

// FixChange puts text in the place of a piece of the file, which is empty where text is only put in.
type FixChange struct {
	// Lines and columns count from 1, columns in code points; the end is behind the piece.
	StartLine, StartColumn, EndLine, EndColumn int
	Text                                       string
}

// NewFix places edits in the text that they are of, which is a file without its byte order mark.
func NewFix(words string, text []byte, edits []designfile.TextEdit) Fix {
	f := Fix{Words: words}
	for _, e := range edits {
		c := FixChange{Text: e.New}
		c.StartLine, c.StartColumn = lineColumnAt(text, e.From)
		c.EndLine, c.EndColumn = lineColumnAt(text, e.To)
		f.Changes = append(f.Changes, c)
	}
	return f
}

// lineColumnAt is the place of a byte of a text.
func lineColumnAt(text []byte, at int) (line, column int) {
	before := text[:min(at, len(text))]
	start := bytes.LastIndexByte(before, '\n') + 1
	return 1 + bytes.Count(before, []byte("\n")), 1 + utf8.RuneCount(before[start:])
}

// placePath is the element path at which a subject stands in a design file; empty for the design as a whole.
func placePath(subject string) string {
	if subject == "design" {
		return ""
	}
	joint, _, _ := strings.Cut(subject, " at ")
	return joint
}

// find gives the place of a subject, or of what stands around it; false for the design as a whole and where the file has no
// lines.
func (a *Answer) find(subject string) (designfile.Position, bool) {
	path := placePath(subject)
	if path == "" {
		return designfile.Position{}, false
	}
	at, ok := a.Positions.Find(path)
	// The file as a whole is no place.
	return at, ok && at.Path != "" && at.Line > 0
}

// place is the subject's place in GNU form, `file:line:column`, or the file alone.
func (a *Answer) place(subject string) string {
	if at, ok := a.find(subject); ok {
		return fmt.Sprintf("%s:%d:%d", clean(a.File), at.Line, at.Column)
	}
	return clean(a.File)
}

// lineColumn is the subject's place without the file name; empty where it has none.
func (a *Answer) lineColumn(subject string) string {
	if at, ok := a.find(subject); ok {
		return fmt.Sprintf("%d:%d", at.Line, at.Column)
	}
	return ""
}

// thing is a subject as people name it: its tag, without the list that it stands in.
func thing(subject string) string {
	if subject == "design" {
		return "the design"
	}
	if rest, ok := strings.CutPrefix(subject, "components."); ok {
		return rest
	}
	if rest, ok := strings.CutPrefix(subject, "lines."); ok {
		return rest
	}
	return subject
}
