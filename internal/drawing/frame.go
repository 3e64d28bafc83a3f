package drawing

import (
	"strconv"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Edges of the frame and its blocks in millimetres. ISO 5457 gives the borders of 20 mm and 10 mm; the rest is common practice,
// no source.
const (
	frameLeft, frameTop     = 20.0, 10.0
	frameRight, frameBottom = 410.0, 287.0
	titleHeight             = 22.0
	titleWidth              = 150.0
	panelWidth              = 82.0
)

// area is where the diagram may stand.
func area(panel bool) rect {
	a := rect{frameLeft + 3, frameTop + 3, frameRight - 3, frameBottom - titleHeight - 3}
	if panel {
		a.r -= panelWidth
	}
	return a
}

func box(style string, l, t, r, b float64) mark {
	return mark{op: opArea, style: style, pts: []vec{{l, t}, {r, t}, {r, b}, {l, b}}}
}

func text(style string, x, y, size float64, s string, a anchor) mark {
	return mark{op: opText, style: style, pts: []vec{{x, y}}, size: size, text: s, anchor: a}
}

func rule(x1, y1, x2, y2 float64) mark {
	return mark{op: opLine, style: "rule", pts: []vec{{x1, y1}, {x2, y2}}}
}

// frame draws the border, the title block and the legend.
func frame(d *skidrulev1.Design, sh *Sheet, opt *Options) []group {
	g := group{class: "sk-frame"}
	g.marks = append(g.marks, box("sheet", 0, 0, sheetWidth, sheetHeight))
	g.marks = append(g.marks, box("frame", frameLeft, frameTop, frameRight, frameBottom))
	l, t := frameRight-titleWidth, frameBottom-titleHeight
	g.marks = append(g.marks, rule(frameLeft, t, frameRight, t), rule(l, t, l, frameBottom),
		rule(l, t+12, frameRight, t+12), rule(l+30, t+12, l+30, frameBottom), rule(l+80, t+12, l+80, frameBottom), rule(l+110, t+12, l+110, frameBottom))
	name := d.GetName()
	if name == "" {
		name = "(no name)"
	}
	g.marks = append(g.marks, text("heading", l+3, t+6, 4.2, fit(name, 4.2, titleWidth-6), start))
	sub := "process and instrumentation diagram"
	if sh.Name != "" {
		sub += ", " + sh.Name
	}
	if invented(d) {
		sub += " · invented data, no real plant"
	}
	g.marks = append(g.marks, text("text", l+3, t+10.2, 2.4, fit(sub, 2.4, titleWidth-6), start))
	cell := func(x, w float64, head, value string) {
		if value == "" {
			value = "–"
		}
		g.marks = append(g.marks, text("note", x+1.5, t+14.8, 1.9, head, start), text("text", x+1.5, t+19.6, 3, fit(value, 3, w-3), start))
	}
	cell(l, 30, "revision", d.GetRevision())
	cell(l+30, 50, "date", opt.Date)
	cell(l+80, 30, "sheet", strconv.Itoa(sh.Number)+" of "+strconv.Itoa(sh.Of))
	cell(l+110, 40, "case", opt.Overlay.Case)
	return append([]group{g}, legend(sh, frameLeft+3, t+2.5, l-frameLeft-6))
}

// invented says whether the design's description calls its data invented.
func invented(d *skidrulev1.Design) bool {
	return strings.Contains(strings.ToLower(d.GetDescription()), "invented")
}

// fit cuts text to a width in millimetres.
func fit(s string, size, width float64) string {
	s = shorten(s)
	r := []rune(s)
	for len(r) > 1 && textWidth(s, size) > width {
		r = r[:len(r)-1]
		s = string(r) + "…"
	}
	return s
}

// legend explains the lines that occur on the sheet.
func legend(sh *Sheet, x, y, width float64) group {
	g := group{class: "sk-legend"}
	used := map[string]bool{}
	taps := false
	for i := range sh.Edges {
		used[sh.Edges[i].style()] = true
		taps = taps || sh.Edges[i].tap && !sh.Edges[i].Signal
	}
	type entry struct{ style, title string }
	var list []entry
	for _, s := range serviceTable() {
		if used["line-"+s.name] {
			list = append(list, entry{"line-" + s.name, s.title})
		}
	}
	if taps {
		list = append(list, entry{"tap", "instrument tap"})
	}
	if used["signal"] {
		list = append(list, entry{"signal", "signal or electric"})
	}
	const rows, sample = 4, 15.0
	column := 52.0
	if n := (len(list) + rows - 1) / rows; n > 0 && float64(n)*column > width {
		column = width / float64(n)
	}
	for i, e := range list {
		cx, cy := x+float64(i/rows)*column, y+2+float64(i%rows)*4.6
		g.marks = append(g.marks, mark{op: opLine, style: e.style, pts: []vec{{cx, cy}, {cx + sample, cy}}},
			text("note", cx+sample+2, cy+0.8, smallSize, fit(e.title, smallSize, column-sample-4), start))
	}
	return g
}

// panel lists the markers beside the diagram.
func panel(o *Overlay) group {
	g := group{class: "sk-list"}
	l, r := frameRight-panelWidth, frameRight
	top, bottom := frameTop, frameBottom-titleHeight
	g.marks = append(g.marks, rule(l, top, l, bottom))
	x := l + 3
	head := "Marked things"
	if o.Case != "" {
		head += " in case " + o.Case
	}
	g.marks = append(g.marks, text("heading", x, top+6, 3, fit(head, 3, r-x-3), start))
	y := top + 12
	size := 2.4
	if len(o.Markers) > 22 {
		size = 2
	}
	for i := range o.Markers {
		m := &o.Markers[i]
		rows := wrapWidth(m.Tag+": "+m.Text, size, r-x-10, 4)
		high := max(2*markerRadius+1, float64(len(rows))*size*1.3+1.6)
		if y+high > bottom-6 && i < len(o.Markers) {
			g.marks = append(g.marks, text("note", x, bottom-3, 2.4, strconv.Itoa(len(o.Markers)-i)+" more are not listed here", start))
			break
		}
		g.marks = append(g.marks, mark{op: opCircle, style: "marker-ring", pts: []vec{{x + markerRadius, y + markerRadius - 1.6}}, r: markerRadius},
			text("marker", x+markerRadius, y+markerRadius-1.6+tagSize*0.36, tagSize, strconv.Itoa(m.Number), middle))
		for k, row := range rows {
			style := "text"
			g.marks = append(g.marks, text(style, x+2*markerRadius+2.5, y+1.6+float64(k)*size*1.3, size, row, start))
		}
		y += high
	}
	return g
}

// wrapWidth breaks text into at most n rows of a width in millimetres.
func wrapWidth(s string, size, width float64, n int) []string {
	var rows []string
	cur := ""
	for _, word := range strings.Fields(clip(s, 400)) {
		next := word
		if cur != "" {
			next = cur + " " + word
		}
		if textWidth(next, size) <= width {
			cur = next
			continue
		}
		if cur != "" {
			rows = append(rows, cur)
		}
		if len(rows) == n {
			rows[n-1] = fit(rows[n-1]+" …", size, width)
			return rows
		}
		cur = fit(word, size, width)
	}
	if cur != "" {
		rows = append(rows, cur)
	}
	return rows
}
