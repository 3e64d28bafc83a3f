package drawing

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"
	"strings"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

const (
	minDPI = 20
	maxDPI = 600
)

// PNG is the page as a picture at a resolution of 20 to 600 dots per inch. ThemeAuto is light.
func (p *Page) PNG(dpi int) ([]byte, error) {
	if dpi < minDPI || dpi > maxDPI {
		return nil, fmt.Errorf("resolution %d dpi: it must be %d to %d", dpi, minDPI, maxDPI)
	}
	k := float64(dpi) / 25.4
	w, h := int(math.Ceil(sheetWidth*k)), int(math.Ceil(sheetHeight*k))
	c := &canvas{img: image.NewRGBA(image.Rect(0, 0, w, h)), colours: p.options.Theme.colours()}
	c.groups(p.scene.under, k, 0, 0)
	c.groups(p.scene.diagram, k*p.scene.scale, p.scene.dx*k, p.scene.dy*k)
	c.groups(p.scene.over, k, 0, 0)
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(&b, c.img); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// canvas paints marks on an image.
type canvas struct {
	img     *image.RGBA
	colours map[string]color.RGBA
	k       float64
	dx, dy  float64
	ras     vector.Rasterizer
	buf     sfnt.Buffer
	// bounds of the path being built, in pixels
	l, t, r, b float64
	path       [][]vec
}

// groups paints groups at a scale in pixels for a millimetre, moved by some pixels.
func (c *canvas) groups(list []group, k, dx, dy float64) {
	c.k, c.dx, c.dy = k, dx, dy
	for i := range list {
		hot := strings.HasSuffix(list[i].class, " sk-hot")
		for j := range list[i].marks {
			if m := &list[i].marks[j]; hot || !strings.HasPrefix(m.style, "halo") {
				c.mark(m)
			}
		}
	}
}

func (c *canvas) mark(m *mark) {
	s := styles[m.style]
	switch m.op {
	case opText:
		c.text(m, c.colours[s.fill], s.bold)
		return
	case opCircle:
		ring := make([]vec, 0, 49)
		for i := range 48 {
			a := float64(i) * math.Pi / 24
			ring = append(ring, vec{m.pts[0].x + m.r*math.Cos(a), m.pts[0].y + m.r*math.Sin(a)})
		}
		c.area(ring, s)
		return
	case opArea:
		c.area(m.pts, s)
		return
	}
	c.stroke(m.pts, s)
	c.paint(c.colours[s.stroke])
}

func (c *canvas) area(pts []vec, s paint) {
	if s.fill != "" {
		c.add(pts)
		c.paint(c.colours[s.fill])
	}
	if s.stroke != "" {
		c.stroke(append(slices.Clone(pts), pts[0]), s)
		c.paint(c.colours[s.stroke])
	}
}

// add takes a closed contour in millimetres.
func (c *canvas) add(pts []vec) {
	out := make([]vec, len(pts))
	for i, p := range pts {
		out[i] = vec{p.x*c.k + c.dx, p.y*c.k + c.dy}
	}
	c.addPixels(out)
}

func (c *canvas) addPixels(pts []vec) {
	if len(c.path) == 0 {
		c.l, c.t, c.r, c.b = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	}
	for _, p := range pts {
		c.l, c.t, c.r, c.b = math.Min(c.l, p.x), math.Min(c.t, p.y), math.Max(c.r, p.x), math.Max(c.b, p.y)
	}
	c.path = append(c.path, pts)
}

// paint fills the contours collected so far.
func (c *canvas) paint(col color.RGBA) {
	path := c.path
	c.path = c.path[:0]
	if len(path) == 0 {
		return
	}
	r := image.Rect(int(math.Floor(c.l)), int(math.Floor(c.t)), int(math.Ceil(c.r))+1, int(math.Ceil(c.b))+1).Intersect(c.img.Bounds())
	if r.Empty() {
		return
	}
	c.ras.Reset(r.Dx(), r.Dy())
	ox, oy := float64(r.Min.X), float64(r.Min.Y)
	for _, pts := range path {
		c.ras.MoveTo(float32(pts[0].x-ox), float32(pts[0].y-oy))
		for _, p := range pts[1:] {
			c.ras.LineTo(float32(p.x-ox), float32(p.y-oy))
		}
		c.ras.ClosePath()
	}
	c.ras.Draw(c.img, r, image.NewUniform(col), image.Point{})
}

// stroke collects the outline of a polyline with round joins.
func (c *canvas) stroke(pts []vec, s paint) {
	half := math.Max(s.width*c.k/2, 0.45) / c.k
	for _, part := range dashes(pts, s.dash) {
		for i := 0; i+1 < len(part); i++ {
			a, b := part[i], part[i+1]
			dx, dy := b.x-a.x, b.y-a.y
			n := math.Hypot(dx, dy)
			if n == 0 {
				continue
			}
			ux, uy := dx/n*half, dy/n*half
			c.add([]vec{{a.x - uy, a.y + ux}, {a.x + uy, a.y - ux}, {b.x + uy, b.y - ux}, {b.x - uy, b.y + ux}})
			if i > 0 || len(s.dash) == 0 {
				c.add(disc(a, half))
			}
		}
		if len(s.dash) == 0 {
			c.add(disc(part[len(part)-1], half))
		}
	}
}

// disc runs the same way round as the quads of a stroke, so that they add up.
func disc(at vec, r float64) []vec {
	out := make([]vec, 12)
	for i := range out {
		a := float64(i) * math.Pi / 6
		out[i] = vec{at.x + r*math.Cos(a), at.y + r*math.Sin(a)}
	}
	return out
}

// dashes cuts a polyline by a pattern.
func dashes(pts []vec, pattern []float64) [][]vec {
	if len(pattern) == 0 {
		return [][]vec{pts}
	}
	var out [][]vec
	k, left, on := 0, pattern[0], true
	cur := []vec{pts[0]}
	for i := 0; i+1 < len(pts); i++ {
		a, b := pts[i], pts[i+1]
		n := math.Hypot(b.x-a.x, b.y-a.y)
		run := 0.0
		for n-run > left {
			run += left
			p := vec{a.x + (b.x-a.x)*run/n, a.y + (b.y-a.y)*run/n}
			if on {
				out = append(out, append(cur, p))
				cur = nil
			} else {
				cur = []vec{p}
			}
			on = !on
			k = (k + 1) % len(pattern)
			left = pattern[k]
		}
		left -= n - run
		if on {
			cur = append(cur, b)
		}
	}
	if on && len(cur) > 1 {
		out = append(out, cur)
	}
	return out
}

// text writes glyph outlines; bold ones are written with a slight stroke.
func (c *canvas) text(m *mark, col color.RGBA, bold bool) {
	f := face()
	w := textWidth(m.text, m.size)
	along := 0.0
	switch m.anchor {
	case middle:
		along = -w / 2
	case end:
		along = -w
	}
	for _, r := range m.text {
		g, err := f.GlyphIndex(&c.buf, r)
		if err != nil {
			continue
		}
		segs, err := f.LoadGlyph(&c.buf, g, fixed.I(unitsPerEm), nil)
		if err != nil {
			continue
		}
		c.glyph(segs, m, along)
		along += runeWidth(&c.buf, r) * m.size
	}
	c.paint(col)
	if !bold {
		return
	}
	// A second impression a little to the right makes the stems heavier.
	shifted := *m
	shift := m.size * 0.045
	p := m.pts[0]
	if m.upward {
		p.y -= shift
	} else {
		p.x += shift
	}
	shifted.pts = []vec{p}
	c.text(&shifted, col, false)
}

func (c *canvas) glyph(segs sfnt.Segments, m *mark, along float64) {
	scale := m.size / unitsPerEm
	at := func(p fixed.Point26_6) vec {
		x, y := along+float64(p.X)/64*scale, float64(p.Y)/64*scale
		if m.upward {
			x, y = y, -x
		}
		return vec{(m.pts[0].x+x)*c.k + c.dx, (m.pts[0].y+y)*c.k + c.dy}
	}
	var cur []vec
	flush := func() {
		if len(cur) > 2 {
			c.addPixels(cur)
		}
		cur = nil
	}
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			flush()
			cur = []vec{at(s.Args[0])}
		case sfnt.SegmentOpLineTo:
			cur = append(cur, at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			a, b, d := cur[len(cur)-1], at(s.Args[0]), at(s.Args[1])
			for i := 1; i <= 4; i++ {
				t := float64(i) / 4
				cur = append(cur, vec{(1-t)*(1-t)*a.x + 2*t*(1-t)*b.x + t*t*d.x, (1-t)*(1-t)*a.y + 2*t*(1-t)*b.y + t*t*d.y})
			}
		case sfnt.SegmentOpCubeTo:
			a, b, e, d := cur[len(cur)-1], at(s.Args[0]), at(s.Args[1]), at(s.Args[2])
			for i := 1; i <= 6; i++ {
				t := float64(i) / 6
				u := 1 - t
				cur = append(cur, vec{u*u*u*a.x + 3*u*u*t*b.x + 3*u*t*t*e.x + t*t*t*d.x, u*u*u*a.y + 3*u*u*t*b.y + 3*u*t*t*e.y + t*t*t*d.y})
			}
		}
	}
	flush()
}
