package drawing

import (
	"cmp"
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
func area() rect {
	return rect{frameLeft + 3, frameTop + 3, frameRight - 3, frameBottom - titleHeight - 3}
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
	g := group{class: "sk-border"}
	g.marks = append(g.marks, box("sheet", 0, 0, sheetWidth, sheetHeight))
	g.marks = append(g.marks, box("frame", frameLeft, frameTop, frameRight, frameBottom))
	l, t := frameRight-titleWidth, frameBottom-titleHeight
	g.marks = append(g.marks, rule(frameLeft, t, frameRight, t), rule(l, t, l, frameBottom),
		rule(l, t+12, frameRight, t+12), rule(l+30, t+12, l+30, frameBottom), rule(l+80, t+12, l+80, frameBottom), rule(l+110, t+12, l+110, frameBottom))
	g.marks = append(g.marks, text("heading", l+3, t+6, 4.2, fit(cmp.Or(d.GetName(), "(no name)"), 4.2, titleWidth-6), start))
	sub := "process and instrumentation diagram"
	if sh.Name != "" {
		sub += ", " + sh.Name
	}
	if invented(d) {
		sub += " · invented data, no real plant"
	}
	g.marks = append(g.marks, text("text", l+3, t+10.2, 2.4, fit(sub, 2.4, titleWidth-6), start))
	cell := func(x, w float64, head, value string) {
		g.marks = append(g.marks, text("note", x+1.5, t+14.8, 1.9, head, start), text("text", x+1.5, t+19.6, 3, fit(cmp.Or(value, "–"), 3, w-3), start))
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

// list is the list of markers: a column at the right of the diagram, or some columns below it, whichever leaves the diagram more
// room.
type list struct {
	box     rect
	columns int
	entries []entry
	head    string
	size    float64
}

// entry is one marker with its text broken into rows; number 0 is about the design as a whole.
type entry struct {
	number int
	rows   []string
	high   float64
}

func newList(o *Overlay, box rect, columns int) *list {
	l := &list{box: box, columns: columns, head: "Marked things", size: 2.5}
	if o.Case != "" {
		l.head += " in case " + o.Case
	}
	if len(o.Markers)+len(o.Whole) > 24 {
		l.size = 2.1
	}
	width := (box.r-box.l)/float64(columns) - 6 - 2*markerRadius - 2.5
	add := func(number int, rows []string) {
		l.entries = append(l.entries, entry{number, rows, max(2*markerRadius+1, float64(len(rows))*l.size*1.3+1.6)})
	}
	for i := range o.Markers {
		add(o.Markers[i].Number, listRows(&o.Markers[i], l.size, width))
	}
	for _, s := range o.Whole {
		add(0, wrapWidth("the design: "+s, l.size, width, 4))
	}
	return l
}

// listRows breaks the text of a marker into rows. More than a few lines are counted, not left out in silence.
func listRows(m *Marker, size, width float64) []string {
	const most = 6
	lines := strings.Split(clip(m.Text, 4000), "\n")
	var rows []string
	for i, line := range lines {
		if i == most && len(lines) > most+1 {
			return append(rows, "and "+strconv.Itoa(len(lines)-most)+" more")
		}
		if i == 0 {
			line = m.Tag + ": " + line
		}
		rows = append(rows, wrapWidth(line, size, width, 4)...)
	}
	return rows
}

const listHead = 10.0 // mm

// fits says whether all entries find room at a height.
func (l *list) fits(high float64) bool {
	column, y := 0, listHead
	for _, e := range l.entries {
		if y+e.high > high-3 {
			column, y = column+1, listHead
		}
		if column == l.columns || y+e.high > high-3 {
			return false
		}
		y += e.high
	}
	return true
}

// placeList chooses where the list stands for a diagram of a size, and returns it with what is left for the diagram.
func placeList(o *Overlay, w, h float64) (*list, rect) {
	all := area()
	bottom := frameBottom - titleHeight
	side := newList(o, rect{frameRight - panelWidth, frameTop, frameRight, bottom}, 1)
	besideIt := all
	besideIt.r = side.box.l - 3
	below := newList(o, rect{frameLeft, bottom, frameRight, bottom}, 3)
	high := 20.0
	for ; high < 100 && !below.fits(high); high += 4 {
	}
	below.box.t = bottom - high
	aboveIt := all
	aboveIt.b = below.box.t - 3
	scale := func(a rect) float64 { return min(1, (a.r-a.l)/w, (a.b-a.t)/h) }
	if below.fits(high) && scale(aboveIt) > scale(besideIt)+0.02 || !side.fits(side.box.b-side.box.t) && below.fits(high) {
		return below, aboveIt
	}
	return side, besideIt
}

// group draws the list. What finds no room is counted, not left out in silence.
func (l *list) group() group {
	g := group{class: "sk-list"}
	if l.columns == 1 {
		g.marks = append(g.marks, rule(l.box.l, l.box.t, l.box.l, l.box.b))
	} else {
		g.marks = append(g.marks, rule(l.box.l, l.box.t, l.box.r, l.box.t))
	}
	width := (l.box.r - l.box.l) / float64(l.columns)
	g.marks = append(g.marks, text("heading", l.box.l+3, l.box.t+6, 3, fit(l.head, 3, l.box.r-l.box.l-6), start))
	column, y := 0, l.box.t+listHead
	for i, e := range l.entries {
		if y+e.high > l.box.b-3 {
			column, y = column+1, l.box.t+listHead
		}
		if column == l.columns || y+e.high > l.box.b-3 {
			g.marks = append(g.marks, text("note", l.box.r-3, l.box.b-1.5, 2.4, strconv.Itoa(len(l.entries)-i)+" more are not listed here", end))
			break
		}
		x := l.box.l + 3 + float64(column)*width
		if e.number > 0 {
			g.marks = append(g.marks, mark{op: opCircle, style: "marker-ring", pts: []vec{{x + markerRadius, y + markerRadius - 0.4}}, r: markerRadius},
				text("marker", x+markerRadius, y+markerRadius-0.4+tagSize*0.36, tagSize, strconv.Itoa(e.number), middle))
		}
		for k, row := range e.rows {
			g.marks = append(g.marks, text("text", x+2*markerRadius+2.5, y+2.8+float64(k)*l.size*1.3, l.size, row, start))
		}
		y += e.high
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
