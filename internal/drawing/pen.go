package drawing

import "math"

// vec is a place on the sheet in millimetres.
type vec struct{ x, y float64 }

type anchor uint8

const (
	middle anchor = iota
	start
	end
)

// mark is one thing to paint, in millimetres.
type mark struct {
	op     op
	pts    []vec
	r      float64
	style  string
	text   string
	size   float64
	anchor anchor
	upward bool // text runs upwards, along a vertical pipe
}

type op uint8

const (
	opLine op = iota
	opArea
	opCircle
	opText
)

// group is a set of marks that belong to one thing of the design.
type group struct {
	id    string
	class string
	attrs []attr
	title string
	marks []mark
}

type attr struct{ name, value string }

// pen draws a symbol: it takes modules from the centre of a symbol that points east, and leaves marks in millimetres.
type pen struct {
	item  *Item
	marks []mark
}

func (p *pen) place(x, y float64) vec {
	switch p.item.Turn {
	case TurnSouth:
		x, y = -y, x
	case TurnWest:
		x = -x
	case TurnNorth:
		x, y = y, -x
	}
	return vec{(float64(p.item.At.X) + x) * module, (float64(p.item.At.Y) + y) * module}
}

func (p *pen) points(xy []float64) []vec {
	pts := make([]vec, 0, len(xy)/2)
	for i := 0; i+1 < len(xy); i += 2 {
		pts = append(pts, p.place(xy[i], xy[i+1]))
	}
	return pts
}

// line draws an open polyline through pairs of coordinates.
func (p *pen) line(xy ...float64) { p.stroke("sym-line", xy...) }

// thin draws an open polyline of inner detail.
func (p *pen) thin(xy ...float64) { p.stroke("sym-thin", xy...) }

// dashed draws an open polyline of dashes.
func (p *pen) dashed(xy ...float64) { p.stroke("sym-dash", xy...) }

func (p *pen) stroke(style string, xy ...float64) {
	p.marks = append(p.marks, mark{op: opLine, pts: p.points(xy), style: style})
}

func (p *pen) area(style string, xy ...float64) {
	p.marks = append(p.marks, mark{op: opArea, pts: p.points(xy), style: style})
}

// body draws a closed outline that hides what is below it.
func (p *pen) body(xy ...float64) { p.area("sym-body", xy...) }

// solid draws a filled polygon.
func (p *pen) solid(xy ...float64) { p.area("sym-solid", xy...) }

// tint draws a pale filled polygon, as a liquid.
func (p *pen) tint(xy ...float64) { p.area("sym-tint", xy...) }

// blank hides what is below a box.
func (p *pen) blank(l, t, r, b float64) { p.area("sym-blank", l, t, r, t, r, b, l, b) }

func (p *pen) circle(x, y, r float64)  { p.ring("sym-body", x, y, r) }
func (p *pen) dot(x, y, r float64)     { p.ring("sym-solid", x, y, r) }
func (p *pen) bubble(x, y, r float64)  { p.ring("sym-thin-body", x, y, r) }
func (p *pen) hole(x, y, r float64)    { p.ring("sym-thin-body", x, y, r) }
func (p *pen) box(l, t, r, b float64)  { p.body(l, t, r, t, r, b, l, b) }
func (p *pen) slab(l, t, r, b float64) { p.solid(l, t, r, t, r, b, l, b) }

func (p *pen) ring(style string, x, y, r float64) {
	p.marks = append(p.marks, mark{op: opCircle, pts: []vec{p.place(x, y)}, r: r * module, style: style})
}

// word writes upright text centred on a place.
func (p *pen) word(x, y, size float64, text string) {
	at := p.place(x, y)
	at.y += size * 0.36
	p.marks = append(p.marks, mark{op: opText, pts: []vec{at}, text: text, size: size, style: "sym-text"})
}

// arc returns pairs of coordinates on an ellipse from angle a to b in degrees, clockwise on the sheet from east.
func arc(cx, cy, rx, ry, a, b float64) []float64 {
	n := max(3, int(math.Abs(b-a)/15))
	xy := make([]float64, 0, 2*n+2)
	for i := 0; i <= n; i++ {
		t := (a + (b-a)*float64(i)/float64(n)) * math.Pi / 180
		xy = append(xy, cx+rx*math.Cos(t), cy+ry*math.Sin(t))
	}
	return xy
}

// shell draws an upright vessel with dished heads within the given box.
func (p *pen) shell(l, t, r, b float64) {
	head := math.Min(1, (b-t)/4)
	c, half := (l+r)/2, (r-l)/2
	xy := arc(c, t+head, half, head, 180, 360)
	xy = append(xy, arc(c, b-head, half, head, 0, 180)...)
	p.body(xy...)
}

// water fills the lower part of such a vessel up to a level and draws the level mark.
func (p *pen) water(l, level, r, b float64) {
	head := math.Min(1, (b-level)/2)
	c, half := (l+r)/2, (r-l)/2
	xy := []float64{l, level, r, level}
	xy = append(xy, arc(c, b-head, half, head, 0, 180)...)
	p.tint(xy...)
	p.thin(l, level, r, level)
	p.thin(c-0.6, level+0.35, c+0.6, level+0.35)
	p.thin(c-0.3, level+0.7, c+0.3, level+0.7)
}
