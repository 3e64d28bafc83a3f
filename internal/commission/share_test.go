package commission

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// run is one skid with a fault, read with instruments that err within their limits.
type run struct {
	cause int       // of the sweeps; -1 none, below that a gauge that shows wrong
	size  float64   // 0 to 1, where on the way through the sizes
	noise []float64 // -1 to 1, of the limits
	sign  bool
}

// drawn gives the run of a seed, each cause and size as likely as the other.
func drawn(seed uint64, causes int) run {
	r := rand.New(rand.NewPCG(seed, 8))
	out := run{cause: r.IntN(causes), size: r.Float64(), sign: r.IntN(2) == 0}
	for range 5 {
		out.noise = append(out.noise, 2*r.Float64()-1)
	}
	return out
}

// bench is the main demo with the places that are read: both gauges and the gas meter of the drawing, a test gauge at the suction and
// a clamp-on meter on the water.
type bench struct {
	*Skid
	x     *swept
	read  []int
	limit []float64
}

func newBench(t testing.TB) *bench {
	b := &bench{Skid: skid(t, design(t, demo))}
	var err error
	b.x, err = b.prepare(context.Background(), 0, nil)
	require.NoError(t, err)
	for _, label := range []string{"PI-1", "PI-2", "FM-1", "INJ-1.suction", "INJ-1"} {
		i := slices.IndexFunc(b.x.places, func(q place) bool { return q.label == label })
		require.GreaterOrEqual(t, i, 0, label)
		limit, _, err := b.x.places[i].assumed(b.x.places[i].exact(b.x.best))
		require.NoError(t, err)
		b.read, b.limit = append(b.read, i), append(b.limit, limit)
	}
	return b
}

// readings gives what the instruments show, with by how many standard uncertainties the fault moves the one that it moves most.
func (b *bench) readings(t testing.TB, r run) (list []*skidrulev1.SiteReading, title string, most float64) {
	shown := b.nodeOf(b.x, b.x.best, 0).shown
	if r.cause >= 0 {
		s := &b.x.sweeps[r.cause]
		at := r.size * float64(len(s.sizes)-1)
		k := min(int(at), len(s.sizes)-2)
		size := mix(s.sizes[k], s.sizes[k+1], at-float64(k))
		states, err := b.solver.Faulted(context.Background(), 0, s.fault, []float64{size})
		require.NoError(t, err)
		shown, title = b.nodeOf(b.x, states[0], size).shown, s.title
	}
	wrong := -2 - r.cause
	for k, i := range b.read {
		q := &b.x.places[i]
		design := q.exact(b.x.best)
		moved := shown[i] - design
		if k == wrong {
			moved = (3 + 12*r.size) * b.limit[k]
			if r.sign {
				moved = -moved
			}
			title = q.label + ": shows wrong"
		}
		d := &diagnosis{skid: b.Skid, x: b.x}
		u := math.Sqrt(standard(b.limit[k])*standard(b.limit[k]) + d.modelCovariance(q, q))
		most = math.Max(most, math.Abs(moved)/u)
		list = append(list, sent(*q, design+moved+r.noise[k]*b.limit[k]))
	}
	return list, title, most
}

// With a fault that moves some reading by at least five standard uncertainties, the fault that was put in is the first cause or one
// of those that the readings cannot decide between in at least 97 of 100 skids; and with none the design leads in at least 97.
func TestFaultIsFound(t *testing.T) {
	b := newBench(t)
	kinds := map[string][3]int{} // by id: skids, first, among the leading
	total, first, among, alone, small, smallHeld := 0, 0, 0, 0, 0, 0
	for seed := range uint64(150) {
		r := drawn(seed, len(b.x.sweeps)+len(b.read))
		if r.cause >= len(b.x.sweeps) {
			r.cause = -2 - (r.cause - len(b.x.sweeps))
		}
		list, title, most := b.readings(t, r)
		d := diagnose(t, b.Skid, list...)
		at := slices.IndexFunc(d.Causes, func(c *skidrulev1.Cause) bool { return c.Title == title })
		require.GreaterOrEqual(t, at, 0, title)
		c := d.Causes[at]
		if most < 5 {
			small++
			if c.Leads || d.Causes[0].Id == "as_designed" {
				smallHeld++
			}
			continue
		}
		k := kinds[c.Id]
		total++
		k[0]++
		if at == 0 {
			first++
			k[1]++
		}
		if c.Leads {
			among++
			k[2]++
			if d.Verdict == skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_ONE_CAUSE {
				alone++
			}
		} else {
			t.Logf("seed %d: %s, moved by %.1f: %s", seed, title, most, d.Summary)
		}
		kinds[c.Id] = k
	}
	var names []string
	for id := range kinds {
		names = append(names, id)
	}
	slices.Sort(names)
	for _, id := range names {
		t.Logf("%-22s %3d skids, first %3d, leading %3d", id, kinds[id][0], kinds[id][1], kinds[id][2])
	}
	t.Logf("%d skids: first in %.1f %%, leading in %.1f %%, alone in %.1f %%", total, share(first, total), share(among, total), share(alone, total))
	t.Logf("%d skids with a smaller fault: it or the design leads in %.1f %%", small, share(smallHeld, small))
	require.Greater(t, total, 70)
	assert.GreaterOrEqual(t, share(among, total), 97.)
	assert.GreaterOrEqual(t, share(smallHeld, small), 97.)
}

func share(a, b int) float64 { return 100 * float64(a) / float64(b) }

// Without a fault the design leads.
func TestDesignLeadsWithoutFault(t *testing.T) {
	b := newBench(t)
	first, leads := 0, 0
	const n = 60
	for seed := range uint64(n) {
		r := drawn(seed, 1)
		r.cause = -1
		list, _, _ := b.readings(t, r)
		d := diagnose(t, b.Skid, list...)
		if d.Causes[0].Id == "as_designed" {
			first++
		}
		if slices.ContainsFunc(d.Causes, func(c *skidrulev1.Cause) bool { return c.Id == "as_designed" && c.Leads }) {
			leads++
		}
	}
	t.Logf("the design is first in %.1f %%, leading in %.1f %% of %d skids", share(first, n), share(leads, n), n)
	assert.GreaterOrEqual(t, share(first, n), 97.)
	assert.Equal(t, n, leads)
}
