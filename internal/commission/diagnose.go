package commission

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// maxReadings bounds the readings of one diagnosis.
const maxReadings = 100

// What ranking rests on.
const (
	// nearly is the chi-square within which a size fits nearly as well: 95 % of one degree of freedom.
	nearly = 3.84
	// decisive is the difference of scores from which a cause counts as ruled out against a better one.
	decisive = 6
	// plausible is the least probability with which readings may come about by a cause that explains them.
	plausible = 0.01
	// telling is the separation over the standard uncertainty from which a further reading is worth taking.
	telling = 2
	// mostFurther is the number of further readings that are named.
	mostFurther = 6
)

var diagnosisBasis = []string{
	"Every cause is put into the drawing at one element and the whole drawing is solved again; one fault at a time.",
	"Chi-square is that of weighted least squares with the covariance of readings and model: limits of error a count as a/√3 (JCGM 100:2008, 4.3.7), ends of uncertain data of the model likewise, taken at the design.",
	"Score: chi-square + k ln n for k free parameters and n readings (Schwarz 1978, The Annals of Statistics 6, 461), + 2 ln m for each of m faults, so that the design as drawn counts as likely beforehand as all faults together (own choice).",
	"A cause is ruled out where its score is more than 6 above the best (strong evidence in Kass and Raftery 1995, Journal of the American Statistical Association 90, 773), or where its chi-square has a probability below 1 %.",
	"Sizes of faults, laws of fouling and wear: common practice, no source.",
	"Faults that come together, and those that the model does not hold, are not tried: it gives a lead to follow at the skid, no proof.",
}

// Diagnose ranks what explains readings taken in a case. Problems are readings that cannot be used; then there is no diagnosis.
// Errors: those of the context, and a case that stands for several scenarios.
func (s *Skid) Diagnose(ctx context.Context, at int, list []*skidrulev1.SiteReading) (*skidrulev1.Diagnosis, []Problem, error) {
	readings, problems := s.observe(list)
	if len(problems) > 0 {
		return nil, problems, nil
	}
	var further []place
	for i := range readings {
		r := &readings[i]
		same := func(q place) bool { return q.label == r.label }
		if r.at = slices.IndexFunc(s.places, same); r.at < 0 {
			r.at = len(s.places) + len(further)
			further = append(further, r.place)
		}
	}
	x, err := s.prepare(ctx, at, further)
	if many := (*tooManyError)(nil); errors.As(err, &many) {
		return nil, []Problem{{-1, many.Error()}}, nil
	}
	if err != nil {
		return nil, nil, err
	}
	out := &skidrulev1.Diagnosis{DesignName: s.plant.Design.GetName(), DesignRevision: s.plant.Design.GetRevision(), CaseId: s.world.Cases[at].ID, Basis: diagnosisBasis}
	d := &diagnosis{skid: s, x: x, at: at, out: out}
	d.judge(readings)
	d.draws(readings)
	if len(d.taken) == 0 {
		out.Verdict = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE
		out.Summary = "The readings cannot decide: of none of them is it known what the design expects."
		return out, nil, nil
	}
	if err := d.rank(ctx); err != nil {
		return nil, nil, err
	}
	return out, nil, d.tell(ctx)
}

// diagnosis is one diagnosis in the making.
type diagnosis struct {
	skid  *Skid
	x     *swept
	at    int
	out   *skidrulev1.Diagnosis
	taken []reading // those that take part
	cov   matrix
	root  matrix // Cholesky factor of cov
	y     []float64
	best  []float64 // whitened readings
	fits  []*fitted
}

// judge sets the readings beside what the design expects, and finds their covariance.
func (d *diagnosis) judge(readings []reading) {
	var judged []*skidrulev1.JudgedReading
	for _, r := range readings {
		f := r.place.at(d.x.full)
		one := &skidrulev1.JudgedReading{Place: r.label, Shows: r.shows, Dimension: r.dimension.Name(), Value: r.value, Uncertainty: r.limit, UncertaintySource: r.source}
		span, because, missing := d.skid.expect(d.at, &r.place, f)
		if because != "" {
			one.UnknownBecause, one.Missing = because, missing
		} else {
			one.Low, one.Best, one.High = &span.Low, &span.Best, &span.High
			d.taken = append(d.taken, r)
			judged = append(judged, one)
		}
		d.out.Readings = append(d.out.Readings, one)
	}
	n := len(d.taken)
	d.cov = newMatrix(n)
	for i, r := range d.taken {
		d.y = append(d.y, r.value)
		for j := range d.taken[:i+1] {
			d.cov[i][j] = d.modelCovariance(&d.x.places[r.at], &d.x.places[d.taken[j].at])
			d.cov[j][i] = d.cov[i][j]
		}
		d.cov[i][i] += standard(r.limit) * standard(r.limit)
		away := (r.value - *judged[i].Best) / math.Sqrt(d.cov[i][i])
		judged[i].DeviationRatio = &away
	}
}

// modelCovariance is what the uncertain data of the model make of two places together: each datum moves both at once. What is not
// stated of where on a line a place lies moves that place alone.
func (d *diagnosis) modelCovariance(a, b *place) float64 {
	sum := 0.0
	for i := range d.x.ends {
		e := &d.x.ends[i]
		sum += moved(a, d.x.best, e) * moved(b, d.x.best, e) / 3
	}
	if a.label == b.label {
		if f := a.at(d.x.best); f.known {
			half := math.Max(f.span.High-f.span.Best, f.span.Best-f.span.Low)
			sum += half * half / 3
		}
	}
	return sum
}

// moved is how far a place moves towards the end of a datum that moves it most; 0 where that is not known.
func moved(q *place, best *operate.State, e *operate.End) float64 {
	at := q.exact(best)
	low, high := q.exact(e.Low)-at, q.exact(e.High)-at
	if math.IsNaN(low) || math.IsNaN(high) {
		return 0
	}
	if math.Abs(high) >= math.Abs(low) {
		return high
	}
	return -low
}

// fitted is a cause at the size that fits best.
type fitted struct {
	id, subject, title string
	size, sizeRange    string
	parameters         int
	chi, score, weight float64
	probability        float64
	shown, drawn       []float64 // by place and injector, at the best size
	predicted          []float64 // of the readings that take part
	beyond             []operate.Datum
	wrong              int           // index of the reading that is wrong; -1 for none
	fault              operate.Fault // with its size; no kind for the design and a wrong gauge
	hidden             bool
	farthest           node // the largest size, of a hidden cause
	leads              bool
	alike              []string
}

// white gives the whitened predictions of a node.
func (d *diagnosis) white(n *node) []float64 {
	v := make([]float64, len(d.taken))
	for i, r := range d.taken {
		v[i] = n.shown[r.at]
	}
	return d.root.whitened(v)
}

// spot is a place on the way through the nodes of a sweep.
type spot struct {
	segment int
	share   float64
	chi     float64
}

// nearest finds where on the way through the nodes, straight between them, chi-square is least.
func (d *diagnosis) nearest(nodes []node) spot {
	a := d.white(&nodes[0])
	out := spot{0, 0, misfit(d.best, a, a, 0)}
	for i := 0; i+1 < len(nodes); i++ {
		b := d.white(&nodes[i+1])
		length, along := 0.0, 0.0
		for k := range a {
			length += (b[k] - a[k]) * (b[k] - a[k])
			along += (b[k] - a[k]) * (d.best[k] - a[k])
		}
		share := 1.0
		if length > 0 {
			share = math.Min(1, math.Max(0, along/length))
		}
		if chi := misfit(d.best, a, b, share); chi < out.chi {
			out = spot{i, share, chi}
		}
		a = b
	}
	return out
}

// misfit is the chi-square at a share of the way from a to b.
func misfit(y, a, b []float64, share float64) float64 {
	sum := 0.0
	for k := range y {
		r := y[k] - a[k] - share*(b[k]-a[k])
		sum += r * r
	}
	return sum
}

// rank fits every cause and scores it.
func (d *diagnosis) rank(ctx context.Context) error {
	var err error
	if d.root, err = cholesky(d.cov); err != nil {
		return err
	}
	d.best = d.root.whitened(d.y)
	n := float64(len(d.taken))
	tried := len(d.taken)
	for i := range d.x.sweeps {
		if s := &d.x.sweeps[i]; len(s.nodes) > 1 {
			tried++
		} else {
			d.out.Untried = append(d.out.Untried, s.title+": "+s.why)
		}
	}
	design := d.skid.nodeOf(d.x, d.x.best, 0)
	cost := math.Log(n) + 2*math.Log(float64(tried))
	white := d.white(&design)
	d.add(&fitted{id: "as_designed", title: "as designed", shown: design.shown, drawn: design.drawn, chi: misfit(d.best, white, white, 0), wrong: -1}, 0)
	for i := range d.taken {
		d.add(d.wrongGauge(i, design), cost)
	}
	least := d.fits[0].score
	for _, f := range d.fits {
		least = math.Min(least, f.score)
	}
	spots := make([]spot, len(d.x.sweeps))
	for i := range d.x.sweeps {
		if s := &d.x.sweeps[i]; len(s.nodes) > 1 {
			spots[i] = d.nearest(s.nodes)
			least = math.Min(least, spots[i].chi+cost)
		}
	}
	worth := refined(spots, d.x.sweeps)
	for i := range d.x.sweeps {
		s := &d.x.sweeps[i]
		if len(s.nodes) < 2 {
			continue
		}
		nodes := s.nodes
		// Only what may lead is worth more solving: straight between two sizes the misfit of a steep fault looks larger than it is.
		if spots[i].chi+cost < least+2*decisive || spots[i].chi <= worth {
			if nodes, err = d.refine(ctx, s); err != nil {
				return err
			}
		}
		d.add(d.fit(s, nodes), cost)
	}
	d.decide()
	return nil
}

// refined is the chi-square up to which causes are solved anew, whatever their score: that of the best few.
func refined(spots []spot, sweeps []sweep) float64 {
	const few = 10
	var list []float64
	for i := range sweeps {
		if len(sweeps[i].nodes) > 1 {
			list = append(list, spots[i].chi)
		}
	}
	if len(list) <= few {
		return math.Inf(1)
	}
	slices.Sort(list)
	return list[few-1]
}

// refine solves a cause anew where it fits best, until the fit lies on what was solved.
func (d *diagnosis) refine(ctx context.Context, s *sweep) ([]node, error) {
	const rounds, enough = 6, 0.01
	nodes := slices.Clone(s.nodes)
	before := math.Inf(1)
	for range rounds {
		at := d.nearest(nodes)
		if math.Abs(at.chi-before) < enough && at.chi <= 3*float64(len(d.taken)) {
			break
		}
		before = at.chi
		// Where a solved size fits best its neighbours are halved, unless it fits well.
		pieces, share := []int{at.segment}, at.share
		if share < 0.02 || share > 0.98 {
			if at.chi <= float64(len(d.taken)) {
				break
			}
			k := at.segment
			if share > 0.98 {
				k++
			}
			pieces, share = []int{k, k - 1}, 0.5
		}
		for _, k := range pieces {
			if k < 0 || k+1 >= len(nodes) {
				continue
			}
			size := mix(nodes[k].size, nodes[k+1].size, share)
			states, err := d.skid.solver.Faulted(ctx, d.at, s.fault, []float64{size})
			if err != nil {
				return nil, err
			}
			if n := d.skid.nodeOf(d.x, states[0], size); d.skid.unsolved(d.x, nodes[0], n, states[0]) == "" {
				nodes = slices.Insert(nodes, k+1, n)
			}
		}
	}
	return nodes, nil
}

// fit reads a sweep where it fits best.
func (d *diagnosis) fit(s *sweep, nodes []node) *fitted {
	at := d.nearest(nodes)
	a, b := &nodes[at.segment], &nodes[min(at.segment+1, len(nodes)-1)]
	f := &fitted{id: s.id, subject: s.subject, title: s.title, parameters: 1, chi: at.chi, wrong: -1, size: s.words(mix(a.size, b.size, at.share)), beyond: a.beyond}
	if at.share > 0 {
		f.beyond = b.beyond
	}
	f.fault = s.fault
	f.fault.Size = mix(a.size, b.size, at.share)
	between := func(a, b []float64) []float64 {
		out := make([]float64, len(a))
		for i := range a {
			out[i] = a[i] + at.share*(b[i]-a[i])
		}
		return out
	}
	f.shown, f.drawn = between(a.shown, b.shown), between(a.drawn, b.drawn)
	const steps = 16
	first, last, most := math.NaN(), math.NaN(), 0.0
	wa := d.white(&nodes[0])
	for i := 0; i+1 < len(nodes); i++ {
		wb := d.white(&nodes[i+1])
		for k := 0; k <= steps; k++ {
			share := float64(k) / steps
			chi := misfit(d.best, wa, wb, share)
			most = math.Max(most, chi)
			if chi <= at.chi+nearly {
				size := mix(nodes[i].size, nodes[i+1].size, share)
				if math.IsNaN(first) {
					first = size
				}
				last = size
			}
		}
		wa = wb
	}
	if s.why == "" && most <= at.chi+nearly {
		f.hidden, f.farthest = true, nodes[len(nodes)-1]
	}
	if !math.IsNaN(first) {
		switch {
		case first == last:
			f.sizeRange = s.words(first)
		case first == s.none:
			f.sizeRange = "nothing to " + s.words(last)
		default:
			f.sizeRange = span(s.words(first), s.words(last))
		}
	}
	return f
}

// wrongGauge takes one reading as wrong by whatever it likes: the others alone have to fit the design.
func (d *diagnosis) wrongGauge(i int, design node) *fitted {
	r := &d.taken[i]
	f := &fitted{id: "wrong_gauge", subject: "components." + d.skid.plant.Components[r.component].Tag, title: r.label + ": shows wrong", parameters: 1, wrong: i,
		shown: design.shown, drawn: design.drawn}
	var away, shared []float64
	for j := range d.taken {
		if j != i {
			away = append(away, d.y[j]-design.shown[d.taken[j].at])
			shared = append(shared, d.cov[i][j])
		}
	}
	actual := design.shown[r.at]
	if len(away) > 0 {
		// A block of a positive definite matrix is positive definite.
		root, _ := cholesky(d.cov.without(i))
		white := root.whitened(away)
		f.chi = dot(white, white)
		actual += dot(shared, root.solved(away))
	}
	off := r.value - actual
	word := "too high"
	if off < 0 {
		word = "too low"
	}
	f.size = r.say(math.Abs(off), true) + " " + word
	return f
}

// span joins two sizes, what they begin and end with alike once.
func span(a, b string) string {
	x, y := strings.Fields(a), strings.Fields(b)
	for len(x) > 1 && len(y) > 1 && x[len(x)-1] == y[len(y)-1] {
		x, y = x[:len(x)-1], y[:len(y)-1]
	}
	tail := strings.Fields(b)
	for i := 0; i < len(x)-1 && i < len(y)-1 && x[i] == y[i]; i++ {
		tail = tail[1:]
	}
	return strings.Join(x, " ") + " to " + strings.Join(tail, " ")
}

func (d *diagnosis) add(f *fitted, cost float64) {
	f.score = f.chi + float64(f.parameters)*cost
	f.probability = chiSquareTail(f.chi, len(d.taken)-f.parameters)
	for i, r := range d.taken {
		v := f.shown[r.at]
		if f.wrong == i {
			v = r.value
		}
		f.predicted = append(f.predicted, v)
	}
	d.fits = append(d.fits, f)
}

// decide sorts the causes and says which of them lead.
func (d *diagnosis) decide() {
	slices.SortStableFunc(d.fits, func(a, b *fitted) int {
		switch {
		case a.score < b.score-1e-9:
			return -1
		case a.score > b.score+1e-9:
			return 1
		}
		return strings.Compare(a.title, b.title)
	})
	least, sum := math.Inf(1), 0.0
	for _, f := range d.fits {
		if f.probability >= plausible {
			least = math.Min(least, f.score)
		}
	}
	for _, f := range d.fits {
		f.leads = f.probability >= plausible && f.score <= least+decisive
		f.weight = math.Exp((d.fits[0].score - f.score) / 2)
		sum += f.weight
	}
	for _, f := range d.fits {
		f.weight /= sum
	}
}
