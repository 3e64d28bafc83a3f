package commission

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mostAlike bounds the causes that are compared each with each.
const mostAlike = 60

// tell writes the causes, the verdict, and what to read next.
func (d *diagnosis) tell(ctx context.Context) error {
	var leads, hidden []*fitted
	for _, f := range d.fits {
		if f.leads {
			leads = append(leads, f)
		} else if f.hidden {
			hidden = append(hidden, f)
		}
	}
	d.findAlike(leads)
	for _, f := range d.fits {
		one := &skidrulev1.Cause{Id: f.id, Subject: f.subject, Title: f.title, Size: f.size, SizeRange: f.sizeRange, ChiSquare: f.chi, DegreesOfFreedom: int32(max(0, len(d.taken)-f.parameters)),
			ProbabilityRatio: f.probability, Score: f.score, WeightRatio: f.weight, Leads: f.leads, Predicted: f.predicted, Beyond: d.skid.paths(f.beyond), Alike: f.alike}
		for i, j := range d.x.injectors {
			if !math.IsNaN(f.drawn[i]) {
				one.Draws = append(one.Draws, &skidrulev1.CauseDraw{Injector: d.skid.plant.Components[j].Tag, GasMolPerS: f.drawn[i]})
			}
		}
		d.out.Causes = append(d.out.Causes, one)
	}
	for _, f := range hidden {
		d.out.Unseen = append(d.out.Unseen, f.title)
	}
	return d.verdict(ctx, leads, hidden)
}

// verdict says whether the readings decide.
func (d *diagnosis) verdict(ctx context.Context, leads, hidden []*fitted) error {
	out := d.out
	var err error
	switch {
	case len(leads) == 0:
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_UNEXPLAINED
		out.Summary = fmt.Sprintf("No cause that was tried explains the readings; the nearest is %s, whose misfit has a probability of %s. Look for two faults at once, and read again.", name(d.fits[0]), chance(d.fits[0].probability))
		err = d.further(ctx, d.fits[:min(len(d.fits), 5)], nil)
	case len(leads) == 1 && leads[0].id == "as_designed" && len(hidden) == 0:
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_AS_DESIGNED
		out.Summary = "The readings agree with the design, and every cause that was tried would have shown in them."
	case len(leads) == 1 && leads[0].id == "as_designed":
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE
		err = d.further(ctx, leads, hidden)
		out.Summary = fmt.Sprintf("The readings agree with the design, but they cannot decide: %s would not show in them, however large.%s", count(len(hidden), "cause", "causes"), d.next())
	case len(leads) == 1:
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_ONE_CAUSE
		out.Summary = "One cause explains the readings better than all others: " + name(leads[0]) + "."
	default:
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE
		if leads[0].id != "as_designed" {
			hidden = nil
		}
		err = d.further(ctx, leads, hidden)
		out.Summary = fmt.Sprintf("The readings cannot decide between %s; the best is %s.%s", count(len(leads), "cause", "causes"), name(leads[0]), d.next())
	}
	return err
}

// name is a cause with its size.
func name(f *fitted) string {
	if f.size == "" {
		return f.title
	}
	return f.title + " (" + f.size + ")"
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func chance(p float64) string {
	if p < 0.0001 {
		return "less than 0.01 %"
	}
	return number(100*math.Round(p*10000)/10000) + " %"
}

// next says what to read next.
func (d *diagnosis) next() string {
	if len(d.out.Further) == 0 {
		return " No pressure or flow that can be read tells them apart: look at the parts themselves."
	}
	f := d.out.Further[0]
	where := f.Place + " (" + f.Shows + ")"
	if f.NoInstrument && !strings.HasSuffix(f.Place, again) {
		where += ", where an instrument must be put on,"
	}
	return " Read " + where + " next: it tells \"" + f.FirstCause + "\" from \"" + f.SecondCause + "\"."
}

// doubt is the standard uncertainty with which a place that was not read would tell: that of the instrument and of the model.
func (d *diagnosis) doubt(q *place, value float64) (float64, bool) {
	limit, _, err := q.assumed(value)
	if err != nil || !(limit > 0) {
		return 0, false
	}
	return math.Sqrt(standard(limit)*standard(limit) + d.modelCovariance(q, q)), true
}

// findAlike tells which leading causes no instrument of the design could tell apart.
func (d *diagnosis) findAlike(leads []*fitted) {
	if len(leads) > mostAlike {
		return
	}
	for _, f := range leads {
		for _, g := range leads {
			if f == g || f.wrong >= 0 || g.wrong >= 0 || !d.same(f, g) {
				continue
			}
			f.alike = append(f.alike, g.title)
		}
	}
}

// same tells whether two causes differ by less than the uncertainty at every instrument of the design and every place that was
// read.
func (d *diagnosis) same(f, g *fitted) bool {
	for i := range d.x.places {
		read := slices.ContainsFunc(d.taken, func(r reading) bool { return r.at == i })
		if !d.x.places[i].instrument && !read || math.IsNaN(f.shown[i]) || math.IsNaN(g.shown[i]) {
			continue
		}
		if u, ok := d.doubt(&d.x.places[i], math.Max(math.Abs(f.shown[i]), 1e-6)); ok && math.Abs(f.shown[i]-g.shown[i]) > u {
			return false
		}
	}
	return true
}

// again marks a place that is read once more.
const again = " again with another instrument"

// view is what a cause would show everywhere.
type view struct {
	title string
	fault operate.Fault
	shown []float64
	wrong int
	read  []float64 // what is true at the places that were read
}

// mostViews bounds the causes that further readings are to part.
const mostViews = 40

// further finds the readings that would tell the leading causes, and those that hide, apart: first what the instruments of the design
// would show, then gauges at the injectors and suspected gauges read again, then gauges beside the parts under suspicion.
func (d *diagnosis) further(ctx context.Context, leads, hidden []*fitted) error {
	var views []view
	for _, f := range leads {
		v := view{name(f), f.fault, f.shown, f.wrong, nil}
		for _, r := range d.taken {
			v.read = append(v.read, f.shown[r.at])
		}
		views = append(views, v)
	}
	for _, f := range hidden {
		v := view{f.title, f.fault, f.farthest.shown, -1, nil}
		v.fault.Size = f.farthest.size
		for _, r := range d.taken {
			v.read = append(v.read, f.farthest.shown[r.at])
		}
		views = append(views, v)
	}
	if len(views) < 2 {
		return nil
	}
	views = views[:min(len(views), mostViews)]
	open := map[[2]int]bool{}
	for a := range views {
		for b := a + 1; b < len(views); b++ {
			open[[2]int{a, b}] = true
		}
	}
	// What stands there already is read before anything is put on.
	options := d.options(views)
	there := slices.DeleteFunc(slices.Clone(options), func(o option) bool { return o.put })
	d.part(views, open, there)
	d.part(views, open, slices.DeleteFunc(options, func(o option) bool { return !o.put }))
	if len(open) == 0 || len(d.out.Further) >= mostFurther {
		return nil
	}
	taps, err := d.taps(ctx, views)
	if err != nil {
		return err
	}
	d.part(views, open, taps)
	return nil
}

// part picks readings that part the causes that are still together: first the one that parts the best cause farthest from another
// one, or two others where none does, then those that part what is left.
func (d *diagnosis) part(views []view, open map[[2]int]bool, options []option) {
	widest := func(only bool) (best int, pair [2]int, most float64) {
		best, most = -1, telling
		for i := range options {
			for a := range views {
				for b := a + 1; b < len(views); b++ {
					if !open[[2]int{a, b}] || only && a != 0 {
						continue
					}
					if sep := options[i].apart(a, b); sep > most {
						best, pair, most = i, [2]int{a, b}, sep
					}
				}
			}
		}
		return best, pair, most
	}
	for len(d.out.Further) < mostFurther && len(options) > 0 {
		best, pair, most := widest(true)
		if best < 0 {
			best, pair, most = widest(false)
		}
		if best < 0 {
			return
		}
		o := &options[best]
		d.out.Further = append(d.out.Further, &skidrulev1.FurtherReading{Place: o.label, Shows: o.shows, NoInstrument: o.put, Dimension: o.dimension,
			FirstCause: views[pair[0]].title, SecondCause: views[pair[1]].title, First: o.values[pair[0]], Second: o.values[pair[1]], SeparationRatio: most, StandardUncertainty: o.doubt})
		for a := range views {
			for b := a + 1; b < len(views); b++ {
				if o.apart(a, b) > telling {
					delete(open, [2]int{a, b})
				}
			}
		}
		options = slices.Delete(options, best, best+1)
	}
}

// taps lists gauges that may be put on beside the parts under suspicion, with what they would show.
func (d *diagnosis) taps(ctx context.Context, views []view) ([]option, error) {
	s := d.skid
	var ports []int32
	add := func(port int32) {
		if s.plant.Ports[port].Joints > 0 && !slices.Contains(ports, port) {
			ports = append(ports, port)
		}
	}
	states := make([]*operate.State, len(views))
	for i := range views {
		f := &views[i].fault
		states[i] = d.x.best
		if f.Kind == 0 {
			continue
		}
		solved, err := s.solver.Faulted(ctx, d.at, *f, []float64{f.Size})
		if err != nil {
			return nil, err
		}
		if len(solved) == 1 {
			states[i] = solved[0]
		}
		switch f.Kind {
		case operate.Narrowed:
			add(s.plant.Ways[f.Way].From)
			add(s.plant.Ways[f.Way].To)
		case operate.Leaking:
			add(f.Port)
		default:
			c := &s.plant.Components[f.Component]
			for k := c.FirstPort; k < c.FirstPort+c.NumPorts; k++ {
				add(k)
			}
		}
	}
	slices.Sort(ports)
	var out []option
	for _, port := range ports {
		q := s.tapped(port)
		if slices.ContainsFunc(d.x.places, func(o place) bool { return o.label == q.label }) {
			continue
		}
		u, ok := d.doubt(&q, 1)
		if !ok {
			continue
		}
		o := option{label: q.label, shows: q.shows, dimension: q.dimension.Name(), put: true, doubt: u}
		for _, st := range states {
			o.values = append(o.values, q.exact(st))
		}
		out = append(out, o)
	}
	return out, nil
}

// option is a reading that may be taken, with what it would show with each cause.
type option struct {
	label, shows, dimension string
	put                     bool // no instrument of the design shows it
	values                  []float64
	doubt                   float64 // standard uncertainty
}

// apart is the difference between two causes over the uncertainty; 0 where it is not known.
func (o *option) apart(a, b int) float64 {
	if x := math.Abs(o.values[a]-o.values[b]) / o.doubt; !math.IsNaN(x) {
		return x
	}
	return 0
}

// options lists the places that were not read, and the readings under suspicion taken again.
func (d *diagnosis) options(views []view) []option {
	var out []option
	for i := range d.x.places {
		q := &d.x.places[i]
		if slices.ContainsFunc(d.taken, func(r reading) bool { return r.at == i }) {
			continue
		}
		u, ok := d.doubt(q, math.Max(math.Abs(views[0].shown[i]), 1e-6))
		if !ok {
			continue
		}
		o := option{label: q.label, shows: q.shows, dimension: q.dimension.Name(), put: !q.instrument, doubt: u}
		for _, v := range views {
			o.values = append(o.values, v.shown[i])
		}
		out = append(out, o)
	}
	for k, r := range d.taken {
		if !slices.ContainsFunc(views, func(v view) bool { return v.wrong == k }) {
			continue
		}
		limit := assumedTap
		if r.dimension != quantity.PressureGauge {
			limit = assumedClampOn * math.Max(math.Abs(r.value), 1e-6)
		}
		u := math.Hypot(standard(limit), math.Sqrt(d.modelCovariance(&d.x.places[r.at], &d.x.places[r.at])))
		o := option{label: r.label + again, shows: r.shows, dimension: r.dimension.Name(), put: true, doubt: u}
		for _, v := range views {
			o.values = append(o.values, v.read[k])
		}
		out = append(out, o)
	}
	return out
}
