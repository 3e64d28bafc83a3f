package calc_test

import (
	"maps"
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/quantity"
)

var (
	kebab = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)
	snake = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
)

func TestRegistrationsAreComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range calc.List() {
		t.Run(c.Name, func(t *testing.T) {
			assert.Regexp(t, kebab, c.Name)
			assert.False(t, seen[c.Name], "registered twice")
			seen[c.Name] = true
			for _, s := range []string{c.Title, c.Purpose, c.Formula} {
				assert.NotEmpty(t, s)
			}
			assert.NotEmpty(t, c.Sources)
			for _, s := range c.Sources {
				assert.NotEmpty(t, s.Title)
				assert.Contains(t, []calc.Status{calc.Verified, calc.Derived, calc.CrossChecked, calc.Memory, calc.CommonPractice}, s.Status)
			}
			keys := map[string]bool{}
			for _, in := range c.Inputs {
				assert.Regexp(t, snake, in.Key)
				assert.False(t, keys[in.Key], "input %s twice", in.Key)
				keys[in.Key] = true
				assert.NotEmpty(t, in.Description, in.Key)
				switch in.Kind {
				case calc.Number:
					assert.True(t, in.Dimension.Valid(), in.Key)
					assert.Less(t, in.Low, in.High, in.Key)
				case calc.Choice:
					assert.NotEmpty(t, in.Choices, in.Key)
				case calc.Table:
					assert.NotEmpty(t, in.Columns, in.Key)
				}
				if in.Assumed != nil {
					assert.NotEmpty(t, in.Why, "%s is assumed without a reason", in.Key)
					assert.GreaterOrEqual(t, *in.Assumed, in.Low, in.Key)
					assert.LessOrEqual(t, *in.Assumed, in.High, in.Key)
				}
			}
			require.NotEmpty(t, c.Outputs)
			for _, out := range c.Outputs {
				assert.Regexp(t, snake, out.Key)
				assert.NotEmpty(t, out.Description, out.Key)
			}
		})
	}
}

// A calculation has three published values, or says why not and holds
// properties instead.
func TestEveryCalculationIsChecked(t *testing.T) {
	for _, c := range calc.List() {
		published := 0
		for _, ch := range c.Checks {
			assert.NotEmpty(t, ch.Source, c.Name)
			assert.NotEqual(t, calc.Memory, ch.Status, "%s: a value from memory carries a hard test", c.Name)
			assert.NotEqual(t, calc.CommonPractice, ch.Status, "%s: a rule of thumb carries a hard test", c.Name)
			if ch.Status == calc.Verified {
				published++
			}
		}
		if published < 3 {
			assert.NotEmpty(t, c.Unpublished, "%s has %d published values and does not say why", c.Name, published)
			assert.True(t, len(c.Properties) > 0 || len(c.Checks) > 2, "%s is not tested by properties either", c.Name)
		}
	}
}

func TestWorkedCases(t *testing.T) {
	for _, c := range calc.List() {
		for _, ch := range c.Checks {
			t.Run(c.Name+"/"+ch.Output+"/"+ch.Source, func(t *testing.T) {
				r, err := calc.RunText(c.Name, ch.Inputs)
				require.NoError(t, err)
				if ch.WantWord != "" {
					word, ok := r.Word(ch.Output)
					require.True(t, ok)
					assert.Equal(t, ch.WantWord, word)
					return
				}
				got, ok := r.Number(ch.Output)
				require.True(t, ok, "no output %s", ch.Output)
				assert.InEpsilon(t, ch.Want, got.Best, ch.Tolerance)
			})
		}
	}
}

func TestProperties(t *testing.T) {
	for _, c := range calc.List() {
		for _, p := range c.Properties {
			t.Run(c.Name+"/"+p.Output+"/"+p.Key, func(t *testing.T) {
				inputs, err := c.Read(p.Inputs)
				require.NoError(t, err)
				s, err := calc.SweepOver(c.Name, inputs, p.Key, p.From, p.To, 41)
				require.NoError(t, err)
				var before float64
				for i, point := range s.Points {
					require.NoError(t, point.Err, "at %g", point.X)
					now, ok := point.Result.Number(p.Output)
					require.True(t, ok)
					if i > 0 {
						checkTrend(t, p.Trend, before, now.Best, point.X)
					}
					before = now.Best
				}
			})
		}
	}
}

func checkTrend(t *testing.T, trend calc.Trend, before, now, at float64) {
	t.Helper()
	slack := 1e-9 * math.Max(math.Abs(before), math.Abs(now))
	switch trend {
	case calc.Rises:
		assert.Greater(t, now, before, "at %g", at)
	case calc.Falls:
		assert.Less(t, now, before, "at %g", at)
	case calc.Constant:
		assert.InDelta(t, before, now, slack, "at %g", at)
	case calc.NotFalls:
		assert.GreaterOrEqual(t, now, before-slack, "at %g", at)
	case calc.NotRises:
		assert.LessOrEqual(t, now, before+slack, "at %g", at)
	default:
		t.Fatalf("unknown trend %q", trend)
	}
}

// samples gives one working set of inputs for each calculation.
func samples(t *testing.T) map[string]calc.Inputs {
	t.Helper()
	all := map[string]calc.Inputs{}
	for _, c := range calc.List() {
		var texts map[string]string
		switch {
		case len(c.Checks) > 0:
			texts = c.Checks[0].Inputs
		default:
			require.NotEmpty(t, c.Properties, c.Name)
			p := c.Properties[0]
			in, err := c.Read(p.Inputs)
			require.NoError(t, err)
			in.Numbers[p.Key] = p.From
			all[c.Name] = in
			continue
		}
		in, err := c.Read(texts)
		require.NoError(t, err, c.Name)
		all[c.Name] = in
	}
	return all
}

func TestBadNumbersAreRefused(t *testing.T) {
	for name, base := range samples(t) {
		c, err := calc.Get(name)
		require.NoError(t, err)
		_, err = c.Run(base)
		require.NoError(t, err, name)
		for _, in := range c.Inputs {
			if in.Kind != calc.Number {
				continue
			}
			for _, bad := range []struct {
				x    float64
				want error
			}{
				{math.NaN(), calc.ErrNotFinite},
				{math.Inf(1), calc.ErrNotFinite},
				{math.Inf(-1), calc.ErrNotFinite},
				{in.Low - 1 - math.Abs(in.Low), calc.ErrOutOfRange},
				{in.High + 1 + math.Abs(in.High), calc.ErrOutOfRange},
			} {
				at := base
				at.Numbers = maps.Clone(base.Numbers)
				at.Numbers[in.Key] = bad.x
				_, err := c.Run(at)
				require.ErrorIs(t, err, bad.want, "%s %s = %g", name, in.Key, bad.x)
				var input *calc.InputError
				require.ErrorAs(t, err, &input)
				assert.Equal(t, in.Key, input.Key)
			}
		}
	}
}

func TestEveryRequiredInputIsMissed(t *testing.T) {
	for name, base := range samples(t) {
		c, err := calc.Get(name)
		require.NoError(t, err)
		for _, in := range c.Inputs {
			if in.Optional || in.Assumed != nil {
				continue
			}
			at := calc.Inputs{Numbers: maps.Clone(base.Numbers), Words: maps.Clone(base.Words), Tables: maps.Clone(base.Tables)}
			delete(at.Numbers, in.Key)
			delete(at.Words, in.Key)
			delete(at.Tables, in.Key)
			_, err := c.Run(at)
			require.ErrorIs(t, err, calc.ErrMissingInput, "%s without %s", name, in.Key)
			assert.ErrorContains(t, err, in.Key)
		}
	}
}

// Every corner of the input ranges gives a finite result or a clear error.
func TestEndsOfTheRangesNeverGiveNaN(t *testing.T) {
	for name, base := range samples(t) {
		c, err := calc.Get(name)
		require.NoError(t, err)
		for _, in := range c.Inputs {
			if in.Kind != calc.Number {
				continue
			}
			for _, x := range []float64{in.Low, in.High} {
				at := base
				at.Numbers = maps.Clone(base.Numbers)
				at.Numbers[in.Key] = x
				r, err := c.Run(at)
				if err != nil {
					assert.NotErrorIs(t, err, calc.ErrNotFinite, "%s %s = %g: %v", name, in.Key, x, err)
					assert.NotContains(t, err.Error(), "NaN", "%s %s = %g", name, in.Key, x)
					continue
				}
				for _, out := range r.Outputs {
					assert.NoError(t, out.Range.Check(out.Output.Key), "%s %s = %g", name, in.Key, x)
				}
			}
		}
	}
}

func TestRenderingIsDeterministic(t *testing.T) {
	for name, in := range samples(t) {
		r, err := calc.Run(name, in)
		require.NoError(t, err)
		for _, system := range []quantity.System{quantity.Metric, quantity.US} {
			text := r.Text(system)
			assert.Contains(t, text, r.Calculation.Formula[:8])
			again, err := calc.Run(name, in)
			require.NoError(t, err)
			assert.Equal(t, text, again.Text(system))
			a, err := r.JSON(system)
			require.NoError(t, err)
			b, err := again.JSON(system)
			require.NoError(t, err)
			assert.Equal(t, string(a), string(b))
		}
		assert.Contains(t, r.Calculation.Explain(quantity.Metric), r.Calculation.Purpose)
	}
}
