package drawing

import (
	"fmt"
	"strconv"
	"strings"
)

func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// escape makes text fit for markup and drops what XML 1.0 does not allow.
func escape(s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < 0x20 || c >= 0x7f || c == '<' || c == '>' || c == '&' || c == '"' || c == '\'' {
			plain = false
			break
		}
	}
	if plain {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '&':
			b.WriteString("&amp;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\'':
			b.WriteString("&#39;")
		case r == '\t' || r == '\n' || r == '\r':
			b.WriteByte(' ')
		case r < 0x20 || r == 0xfffe || r == 0xffff || r == 0x7f:
			b.WriteRune('\ufffd')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

const (
	sheetWidth  = 420.0 // mm, A3 landscape, ISO 216
	sheetHeight = 297.0
)

// svg writes the scene. Every thing of the design is a group with its tag in data-tag or data-line; the class sk-hot on a group
// shows its highlight.
func (sc *scene) svg(opt *Options) []byte {
	var b strings.Builder
	b.Grow(1 << 16)
	titleID := opt.IDPrefix + "title-" + id("", "", sc.about)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="sk-drawing" viewBox="0 0 %s %s" width="%smm" height="%smm" role="img" aria-labelledby="%s">`+"\n",
		num(sheetWidth), num(sheetHeight), num(sheetWidth), num(sheetHeight), escape(titleID))
	fmt.Fprintf(&b, "<title id=\"%s\">%s</title>\n<style>\n", escape(titleID), escape(sc.title))
	styleSheet(&b, opt.Theme)
	b.WriteString("</style>\n")
	writeGroups(&b, sc.under)
	fmt.Fprintf(&b, `<g class="sk-diagram" transform="translate(%s %s) scale(%s)">`+"\n", num(sc.dx), num(sc.dy), strconv.FormatFloat(sc.scale, 'f', 5, 64))
	writeGroups(&b, sc.diagram)
	b.WriteString("</g>\n")
	writeGroups(&b, sc.over)
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

func writeGroups(b *strings.Builder, list []group) {
	for i := range list {
		writeGroup(b, &list[i])
	}
}

func writeGroup(b *strings.Builder, g *group) {
	b.WriteString("<g")
	if g.id != "" {
		fmt.Fprintf(b, ` id="%s"`, escape(g.id))
	}
	if g.class != "" {
		fmt.Fprintf(b, ` class="%s"`, g.class)
	}
	for _, a := range g.attrs {
		fmt.Fprintf(b, ` %s="%s"`, a.name, escape(a.value))
	}
	b.WriteString(">")
	if g.title != "" {
		fmt.Fprintf(b, "<title>%s</title>", escape(g.title))
	}
	for i := range g.marks {
		writeMark(b, &g.marks[i])
	}
	b.WriteString("</g>\n")
}

func writeMark(b *strings.Builder, m *mark) {
	class := "sk-" + m.style
	if strings.HasPrefix(m.style, "halo") && m.style != "halo" {
		class = "sk-halo " + class
	}
	switch m.op {
	case opCircle:
		fmt.Fprintf(b, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, num(m.pts[0].x), num(m.pts[0].y), num(m.r))
	case opText:
		p := m.pts[0]
		fmt.Fprintf(b, `<text class="%s" x="%s" y="%s" font-size="%s"`, class, num(p.x), num(p.y), num(m.size))
		if m.anchor != start {
			b.WriteString(` text-anchor="` + map[anchor]string{middle: "middle", end: "end"}[m.anchor] + `"`)
		}
		// The width that the places were reckoned with holds in every font.
		fmt.Fprintf(b, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, num(textWidth(m.text, m.size)))
		if m.upward {
			fmt.Fprintf(b, ` transform="rotate(-90 %s %s)"`, num(p.x), num(p.y))
		}
		fmt.Fprintf(b, ">%s</text>", escape(m.text))
	default:
		b.WriteString(`<path class="` + class + `" d="`)
		for i, p := range m.pts {
			if i == 0 {
				b.WriteByte('M')
			} else {
				b.WriteByte('L')
			}
			b.WriteString(num(p.x) + " " + num(p.y))
		}
		if m.op == opArea {
			b.WriteByte('Z')
		}
		b.WriteString(`"/>`)
	}
}
