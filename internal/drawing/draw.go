package drawing

import (
	"cmp"
	"context"
	"fmt"
	"math"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Page is one finished sheet.
type Page struct {
	// Sheet with the places of all items and the ways of all edges.
	Sheet *Sheet

	labels  []label
	scene   *scene
	options Options
	metrics Metrics
}

// Draw makes the pages of a design. Positions that the design states are kept. It returns an error that wraps ErrDesign where the
// design does not hold together, and the error of ctx where that ends first.
func Draw(ctx context.Context, d *skidrulev1.Design, opt Options) ([]Page, error) {
	if n := len(opt.Overlay.Markers); n > maxMarkers {
		return nil, wrong("%d markers, at most %d are drawn", n, maxMarkers)
	}
	if n := len(opt.Overlay.Values); n > maxValues {
		return nil, wrong("%d values, at most %d are drawn", n, maxValues)
	}
	if opt.SheetCapacity < 0 || opt.SheetCapacity > maxCapacity {
		return nil, fmt.Errorf("sheet capacity %d: it must be from 0 to %d", opt.SheetCapacity, maxCapacity)
	}
	p, err := newPlan(d, &opt)
	if err != nil {
		return nil, err
	}
	sheets := p.split(cmp.Or(opt.SheetCapacity, defaultCapacity))
	pages := make([]Page, 0, len(sheets))
	for _, sh := range sheets {
		own := opt
		own.Overlay.Markers = markersOn(sh, sheets, opt.Overlay.Markers)
		page, err := drawSheet(ctx, d, sh, own)
		if err != nil {
			return nil, err
		}
		pages = append(pages, *page)
	}
	return pages, nil
}

// markersOn leaves out the markers of things that stand on other sheets alone.
func markersOn(sh *Sheet, all []*Sheet, markers []Marker) []Marker {
	if len(all) < 2 {
		return markers
	}
	here, anywhere := map[string]bool{}, map[string]bool{}
	for _, s := range all {
		note := func(tag string) {
			anywhere[tag] = true
			if s == sh {
				here[tag] = true
			}
		}
		for i := range s.Items {
			note(s.Items[i].Tag)
		}
		for i := range s.Edges {
			note(s.Edges[i].Line)
		}
	}
	var out []Marker
	for _, m := range markers {
		if here[m.Tag] || !anywhere[m.Tag] {
			out = append(out, m)
		}
	}
	return out
}

func drawSheet(ctx context.Context, d *skidrulev1.Design, sh *Sheet, opt Options) (*Page, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if n := len(sh.Edges); n > maxHops {
		return nil, wrong("sheet %d has %d hops between its %d components, at most %d can be laid out", sh.Number, n, len(sh.Items), maxHops)
	}
	l := newLayout(sh)
	l.hang()
	honoured := sh.honours()
	a := area()
	wide, high := int((a.r-a.l)/module), int((a.b-a.t)/module)
	if honoured {
		l.placeFixed(wide, high)
	} else {
		l.place(wide, high)
	}
	if len(sh.Items) > 0 {
		r, err := newRouter(sh)
		if err != nil {
			return nil, err
		}
		if err := r.route(ctx); err != nil {
			return nil, err
		}
	}
	lb := newLabeller(sh)
	lb.tags()
	lb.lineTags()
	lb.values(&opt.Overlay)
	lb.markers(&opt.Overlay)
	page := &Page{Sheet: sh, labels: lb.placed, options: opt}
	sc := &scene{scale: 1, about: fmt.Sprint(sh.Number)}
	sc.title = fmt.Sprintf("%s, sheet %d of %d", cmp.Or(d.GetName(), "diagram"), sh.Number, sh.Of)
	sc.under = frame(d, sh, &opt)
	b := extentOf(sh, lb.placed)
	if o := &opt.Overlay; !o.Unlisted && len(o.Markers)+len(o.Whole) > 0 {
		var marked *list
		marked, a = placeList(&opt.Overlay, math.Max(b.r-b.l, 1), math.Max(b.b-b.t, 1))
		sc.over = append(sc.over, marked.group())
	}
	sc.diagram = compose(sh, lb.placed, &opt)
	sc.fit(b, a, honoured)
	page.scene = sc
	page.metrics = measureSheet(sh, lb.placed)
	page.metrics.Scale = sc.scale
	return page, nil
}

// extentOf is the box around everything of the diagram.
func extentOf(sh *Sheet, labels []label) rect {
	b := rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	add := func(o rect) {
		b = rect{math.Min(b.l, o.l), math.Min(b.t, o.t), math.Max(b.r, o.r), math.Max(b.b, o.b)}
	}
	for i := range sh.Items {
		add(bodyOf(&sh.Items[i]))
	}
	for i := range sh.Edges {
		for _, p := range sh.Edges[i].Path {
			add(segRect(p, p))
		}
	}
	for i := range labels {
		add(labels[i].box)
	}
	return b
}

// fit sets the scale and place of the diagram in an area. A diagram at stated positions stays where it is if it fits.
func (sc *scene) fit(b, a rect, honoured bool) {
	if math.IsInf(b.l, 0) {
		return
	}
	if honoured && b.l >= a.l && b.t >= a.t && b.r <= a.r && b.b <= a.b {
		return
	}
	w, h := math.Max(b.r-b.l, 1), math.Max(b.b-b.t, 1)
	sc.scale = math.Min(1, math.Min((a.r-a.l)/w, (a.b-a.t)/h))
	sc.dx = (a.l+a.r)/2 - (b.l+b.r)/2*sc.scale
	sc.dy = (a.t+a.b)/2 - (b.t+b.b)/2*sc.scale
}

// SVG is the page as a stand-alone SVG of A3 landscape, fit to be put into an HTML page as it is.
func (p *Page) SVG() []byte { return p.scene.svg(&p.options) }

// Metrics of the page.
func (p *Page) Metrics() Metrics { return p.metrics }
