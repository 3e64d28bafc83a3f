package report

import (
	"io"
	"strings"

	"github.com/rivo/uniseg"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Style says how text is laid out.
type Style struct {
	// Width is the number of columns to wrap at; below 40 it counts as 40, and 0 as 100.
	Width int
	// Colour allows colours; nothing is said by colour alone.
	Colour bool
	// ASCII avoids arrows and rules beyond ASCII.
	ASCII bool
	// Units are those that evidence is shown in.
	Units quantity.System
}

// ink is what text is painted with.
type ink string

const (
	plain  ink = ""
	bold   ink = "1"
	red    ink = "1;31"
	yellow ink = "33"
	green  ink = "32"
	blue   ink = "34"
	faint  ink = "2"
)

// page is text output that remembers the first error of its writer.
type page struct {
	w     io.Writer
	style Style
	err   error
}

func newPage(w io.Writer, s Style) *page {
	switch {
	case s.Width == 0:
		s.Width = 100
	case s.Width < 40:
		s.Width = 40
	}
	return &page{w: w, style: s}
}

func (p *page) write(parts ...string) {
	for _, s := range parts {
		if p.err == nil {
			_, p.err = io.WriteString(p.w, s)
		}
	}
}

// line writes a line of parts.
func (p *page) line(parts ...string) {
	p.write(parts...)
	p.write("\n")
}

// blank writes an empty line.
func (p *page) blank() { p.write("\n") }

// nameless is what is said of a design that has no name.
const nameless = "design without a name"

// revised is a name with the revision, where there is one.
func revised(name, revision string) string {
	if revision != "" {
		name += ", revision " + revision
	}
	return name
}

// title writes the line that names a design; nothing where it has no name.
func (p *page) title(d interface {
	GetDesignName() string
	GetDesignRevision() string
}) {
	if name := revised(d.GetDesignName(), d.GetDesignRevision()); name != "" {
		p.line(p.ink(bold, clean(name)))
	}
}

// ink paints text. Pad first: the codes have no width but count as characters.
func (p *page) ink(c ink, s string) string {
	if !p.style.Colour || c == plain || s == "" {
		return s
	}
	return "\x1b[" + string(c) + "m" + s + "\x1b[0m"
}

// wrapped writes text with a head before its first line and the others under its beginning.
func (p *page) wrapped(indent, head string, headInk ink, text string) {
	p.hung(indent, head, headInk, text, plain)
}

// paragraph writes text with its following lines a little to the right.
func (p *page) paragraph(head string, headInk ink, text string, textInk ink) {
	lines := wrap(clean(head)+" "+clean(text), p.style.Width-4)
	if rest, ok := strings.CutPrefix(lines[0], clean(head)); ok {
		lines[0] = p.ink(headInk, clean(head)) + p.ink(textInk, rest)
	}
	for i, l := range lines {
		if i > 0 {
			l = "    " + p.ink(textInk, l)
		}
		p.line(l)
	}
}

// list writes a heading with lines below it; nothing where there is no line.
func (p *page) list(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, head))
	for _, l := range lines {
		p.wrapped("  ", "- ", plain, l)
	}
}

// hung is wrapped with painted text.
func (p *page) hung(indent, head string, headInk ink, text string, textInk ink) {
	hang := width(indent) + width(head)
	lines := wrap(clean(text), max(p.style.Width-hang, 24))
	for i, l := range lines {
		if i == 0 {
			p.line(indent, p.ink(headInk, head), p.ink(textInk, l))
			continue
		}
		p.line(strings.Repeat(" ", hang), p.ink(textInk, l))
	}
}

// width is the number of terminal columns that text takes.
func width(s string) int { return uniseg.StringWidth(s) }

// pad fills text with spaces up to a width.
func pad(s string, n int) string {
	if w := width(s); w < n {
		return s + strings.Repeat(" ", n-w)
	}
	return s
}

// wrap breaks text at spaces into lines of at most n columns; a longer word stands on a line of its own. It gives at least
// one line.
func wrap(text string, n int) []string {
	var lines []string
	line, used := "", 0
	for _, w := range strings.Fields(text) {
		size := width(w)
		if used > 0 && used+1+size > n {
			lines = append(lines, line)
			line, used = "", 0
		}
		if used > 0 {
			line, used = line+" ", used+1
		}
		line, used = line+w, used+size
	}
	return append(lines, line)
}
