package drawing

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
)

// scene is a page ready to be written: groups on the sheet, and groups of the diagram under a scale.
type scene struct {
	under, over  []group // in sheet millimetres, before and after the diagram
	diagram      []group
	scale        float64
	dx, dy       float64
	title, about string
}

// id makes a name that is unique for each tag and fit for markup: letters, digits, - and _ stay, others become .hex.
func id(prefix, kind, tag string) string {
	var b strings.Builder
	b.WriteString(prefix)
	b.WriteString(kind)
	for _, r := range tag {
		if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			b.WriteRune(r)
			continue
		}
		fmt.Fprintf(&b, ".%x", r)
	}
	return b.String()
}

type hotSet struct {
	items map[string]bool
	lines map[string]bool
}

func hot(o *Overlay) hotSet {
	h := hotSet{map[string]bool{}, map[string]bool{}}
	for _, t := range o.Path.Components {
		h.items[t] = true
	}
	for _, t := range o.Path.Lines {
		h.lines[t] = true
	}
	return h
}

// onPath says whether an edge lies on the highlighted path: its line is named and, where the path names components, so are both
// ends; or its line is not named at all, but neither are any lines.
func (h hotSet) onPath(sh *Sheet, e *Edge) bool {
	named := func(i int) bool { it := &sh.Items[i]; return h.items[it.Tag] || it.Kind == "off_sheet" }
	if !h.lines[e.Line] || e.Line == "" {
		return false
	}
	return len(h.items) == 0 || named(e.From.Item) && named(e.To.Item)
}

// compose turns a placed and routed sheet into groups.
func compose(sh *Sheet, labels []label, opt *Options) []group {
	var out []group
	h := hot(&opt.Overlay)
	cuts := crossingsOn(sh)
	for i := range sh.Edges {
		out = append(out, edgeGroup(sh, i, cuts[i], h, opt))
	}
	byItem := map[int][]label{}
	for _, l := range labels {
		if l.item >= 0 {
			byItem[l.item] = append(byItem[l.item], l)
		}
	}
	for i := range sh.Items {
		out = append(out, itemGroup(&sh.Items[i], sh.Number, byItem[i], h, opt))
	}
	for k, l := range labels {
		if l.edge < 0 {
			continue
		}
		e := &sh.Edges[l.edge]
		g := group{id: id(opt.IDPrefix, "label-", e.Line) + "." + strconv.Itoa(sh.Number) + "." + strconv.Itoa(k), class: "sk-label",
			attrs: []attr{{"data-line", e.Line}}}
		g.marks = labelMarks(l)
		out = append(out, g)
	}
	return out
}

func itemGroup(it *Item, number int, labels []label, h hotSet, opt *Options) group {
	g := group{id: id(opt.IDPrefix, "item-", it.Tag), class: "sk-item", attrs: []attr{{"data-tag", it.Tag}, {"data-kind", it.Kind}}}
	g.title = it.Tag
	if it.Title != "" {
		g.title += ": " + shorten(it.Title)
	}
	if it.Kind == "off_sheet" {
		line, _, _ := strings.Cut(it.Tag, "·")
		g.attrs = []attr{{"data-line", line}, {"data-kind", it.Kind}}
		g.id = id(opt.IDPrefix, "sheet-", it.Tag) + "." + strconv.Itoa(number)
	} else if h.items[it.Tag] {
		g.class += " sk-hot"
	}
	for _, ring := range []struct {
		style string
		out   float64
	}{{"halo-ring", 0.75}, {"halo-edge", 1.5}} {
		b := bodyOf(it).grown(ring.out)
		g.marks = append(g.marks, box(ring.style, b.l, b.t, b.r, b.b))
	}
	for _, l := range labels {
		if l.marker == 0 && !l.plate {
			// The ring of the highlight must not cross the words.
			g.marks = append(g.marks, box("halo-plate", l.box.l, l.box.t, l.box.r, l.box.b))
		}
	}
	p := &pen{item: it}
	it.form.draw(p, it)
	g.marks = append(g.marks, p.marks...)
	for _, l := range labels {
		g.marks = append(g.marks, labelMarks(l)...)
	}
	return g
}

func edgeGroup(sh *Sheet, i int, cuts []float64, h hotSet, opt *Options) group {
	e := &sh.Edges[i]
	from, to := sh.Items[e.From.Item].Tag, sh.Items[e.To.Item].Tag
	g := group{class: "sk-line", attrs: []attr{{"data-from", from}, {"data-to", to}}}
	if e.Line != "" {
		g.id = id(opt.IDPrefix, "line-", e.Line) + "." + strconv.Itoa(e.Hop) + "." + strconv.Itoa(sh.Number)
		g.attrs = append([]attr{{"data-line", e.Line}}, g.attrs...)
		g.title = e.Line + ": " + serviceOf[e.Service].title
		if e.Size != "" {
			g.title += ", " + e.Size
		}
	} else {
		g.id = id(opt.IDPrefix, "signal-", from) + "." + strconv.Itoa(i)
	}
	if h.onPath(sh, e) {
		g.class += " sk-hot"
	}
	style := e.style()
	if e.tap && !e.Signal {
		style = "tap"
	}
	pts := make([]vec, len(e.Path))
	for k, p := range e.Path {
		pts[k] = vec{float64(p.X) * module, float64(p.Y) * module}
	}
	g.marks = append(g.marks, mark{op: opLine, pts: pts, style: "halo"})
	for _, part := range cutLine(pts, cuts) {
		g.marks = append(g.marks, mark{op: opLine, pts: part, style: style})
	}
	if a := arrow(sh, e); a != nil {
		g.marks = append(g.marks, mark{op: opArea, pts: a, style: "sym-solid"})
	}
	return g
}

// arrow is a flow arrow at the end of the last long straight part of an edge.
func arrow(sh *Sheet, e *Edge) []vec {
	if e.tap || e.Signal || len(e.Path) < 2 {
		return nil
	}
	long, bends := 0, len(e.Path)-2
	for k := 0; k+1 < len(e.Path); k++ {
		long += distance(e.Path[k], e.Path[k+1])
	}
	switch sh.Items[e.To.Item].Kind {
	case "drain_point", "atmosphere_vent", "boundary", "off_sheet":
		return nil
	}
	toPoint := sh.Items[e.To.Item].form.class == point
	if e.Hop > 0 && bends == 0 && long < 8 && sh.Items[e.To.Item].form.class != equipment || toPoint && long < 6 {
		return nil
	}
	for k := len(e.Path) - 2; k >= 0; k-- {
		a, b := e.Path[k], e.Path[k+1]
		n := distance(a, b)
		if n < 2 {
			continue
		}
		s := direction(a, b).step()
		// The point of the arrow stands at the symbol, or half-way on a run that ends at a corner or a tee.
		at := float64(n) * 0.5
		if k == len(e.Path)-2 && !toPoint {
			at = float64(n)
		}
		x, y := (float64(a.X)+at*float64(s.X))*module, (float64(a.Y)+at*float64(s.Y))*module
		const long, half = 2.2, 0.8
		dx, dy := float64(s.X), float64(s.Y)
		return []vec{{x, y}, {x - long*dx - half*dy, y - long*dy + half*dx}, {x - long*dx + half*dy, y - long*dy - half*dx}}
	}
	return nil
}

// crossingsOn lists for every edge where its upright runs are crossed, as lengths along the path in millimetres.
func crossingsOn(sh *Sheet) [][]float64 {
	type level struct{ y, l, r, edge int }
	var levels []level
	for i := range sh.Edges {
		p := sh.Edges[i].Path
		for k := 0; k+1 < len(p); k++ {
			if p[k].Y == p[k+1].Y {
				levels = append(levels, level{p[k].Y, min(p[k].X, p[k+1].X), max(p[k].X, p[k+1].X), i})
			}
		}
	}
	sort.SliceStable(levels, func(a, b int) bool { return levels[a].y < levels[b].y })
	cuts := make([][]float64, len(sh.Edges))
	for i := range sh.Edges {
		p := sh.Edges[i].Path
		run := 0
		for k := 0; k+1 < len(p); k++ {
			a, b := p[k], p[k+1]
			n := distance(a, b)
			if a.X == b.X {
				lo, hi := min(a.Y, b.Y), max(a.Y, b.Y)
				first := sort.Search(len(levels), func(j int) bool { return levels[j].y > lo })
				for j := first; j < len(levels) && levels[j].y < hi; j++ {
					if v := levels[j]; v.edge != i && v.l < a.X && a.X < v.r {
						cuts[i] = append(cuts[i], float64(run+abs(v.y-a.Y))*module)
					}
				}
			}
			run += n
		}
		sort.Float64s(cuts[i])
	}
	return cuts
}

const cutHalf = 0.95 // mm left free on each side of a crossing

// cutLine leaves gaps in a polyline at the given lengths.
func cutLine(pts []vec, cuts []float64) [][]vec {
	if len(cuts) == 0 {
		return [][]vec{pts}
	}
	var out [][]vec
	cur := []vec{pts[0]}
	run := 0.0
	c := 0
	on := true
	for k := 0; k+1 < len(pts); k++ {
		a, b := pts[k], pts[k+1]
		n := math.Abs(a.x-b.x) + math.Abs(a.y-b.y)
		for n > 0 && c < len(cuts) {
			at := cuts[c] - cutHalf
			if !on {
				at = cuts[c] + cutHalf
			}
			if at > run+n {
				break
			}
			t := math.Max(0, (at-run)/n)
			p := vec{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t}
			if on {
				out = append(out, append(cur, p))
				cur, on = nil, false
			} else {
				cur, on = []vec{p}, true
				c++
			}
		}
		if on {
			cur = append(cur, b)
		}
		run += n
	}
	if len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// labelMarks paints a placed label.
func labelMarks(l label) []mark {
	var m []mark
	if len(l.leader) > 0 {
		m = append(m, mark{op: opLine, pts: l.leader, style: "leader"})
	}
	c := vec{(l.box.l + l.box.r) / 2, (l.box.t + l.box.b) / 2}
	if l.marker > 0 {
		return append(m, mark{op: opCircle, pts: []vec{c}, r: markerRadius, style: "marker-ring"},
			mark{op: opText, pts: []vec{{c.x, c.y + tagSize*0.36}}, text: l.rows[0].text, size: tagSize, style: "marker"})
	}
	if l.plate {
		b := l.box.grown(0.25)
		m = append(m, mark{op: opArea, style: "plate", pts: []vec{{b.l, b.t}, {b.r, b.t}, {b.r, b.b}, {b.l, b.b}}})
	}
	off := 0.0
	for _, r := range l.rows {
		base := off + r.size*0.88
		off += r.size * leading
		k := mark{op: opText, text: r.text, size: r.size, style: r.style, anchor: l.anchor, upward: l.upward}
		switch {
		case l.upward:
			k.pts, k.anchor = []vec{{l.box.l + base, c.y}}, middle
		case l.anchor == start:
			k.pts = []vec{{l.box.l, l.box.t + base}}
		case l.anchor == end:
			k.pts = []vec{{l.box.r, l.box.t + base}}
		default:
			k.pts = []vec{{c.x, l.box.t + base}}
		}
		m = append(m, k)
	}
	return m
}
