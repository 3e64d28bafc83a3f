package network

import "math"

// Curve is a machine curve: head or pressure rise against volume flow. Give
// either Points or the coefficients of rise = ShutOff − Linear·Q −
// Quadratic·Q|Q|.
//
// Points are joined by a monotone cubic (Fritsch and Carlson, SIAM J. Numer.
// Anal. 17 (1980) 238) and continued in straight lines beyond
// both ends; a solution there is marked [LimitCurve].
type Curve struct {
	ShutOff, Linear, Quadratic float64
	Points                     []CurvePoint
}

// CurvePoint is one point of a curve: volume flow in m³/s, rise in metre
// (pump) or Pa (blower).
type CurvePoint struct{ Flow, Rise float64 }

func (c *Curve) empty() bool {
	return len(c.Points) == 0 && c.ShutOff == 0 && c.Linear == 0 && c.Quadratic == 0
}

// check reports why the curve cannot be used; falling demands that the rise
// never increases with flow.
func (c *Curve) check(falling bool) error {
	const maxPoints = 1000
	if len(c.Points) == 0 {
		ok := finite(c.ShutOff) && finite(c.Linear) && finite(c.Quadratic) &&
			(!falling || c.ShutOff > 0 && c.Linear >= 0 && c.Quadratic >= 0 && c.Linear+c.Quadratic > 0)
		if !ok {
			return &BadInputError{What: "curve coefficients", Value: c.ShutOff,
				Want: "shut-off rise above 0, linear and quadratic coefficients not negative, not both 0"}
		}
		return nil
	}
	if len(c.Points) < 2 || len(c.Points) > maxPoints {
		return &BadInputError{What: "number of curve points", Value: float64(len(c.Points)), Want: "2 to 1000"}
	}
	for i, p := range c.Points {
		if !finite(p.Flow) || !finite(p.Rise) || p.Flow < 0 {
			return &BadInputError{What: "curve point", Value: p.Flow, Want: "finite, flow not negative"}
		}
		if i == 0 {
			continue
		}
		before := c.Points[i-1]
		if !(p.Flow > before.Flow) {
			return &BadInputError{What: "curve flow", Value: p.Flow, Want: "larger than that of the point before"}
		}
		if falling && p.Rise > before.Rise {
			return &BadInputError{What: "curve rise", Value: p.Rise,
				Want: "not above that of the point before: a curve that rises with flow has two flows for one rise"}
		}
	}
	if falling && c.Points[0].Rise <= c.Points[len(c.Points)-1].Rise {
		return &BadInputError{What: "curve rise", Value: c.Points[0].Rise, Want: "falling between first and last point"}
	}
	return nil
}

// at gives rise and slope at volume flow q.
func (c *Curve) at(q float64) (rise, slope float64) {
	n := len(c.Points)
	if n == 0 {
		m := math.Abs(q)
		return c.ShutOff - c.Linear*q - c.Quadratic*q*m, -c.Linear - 2*c.Quadratic*m
	}
	p := c.Points
	if q <= p[0].Flow {
		s := c.tangent(0)
		return p[0].Rise + s*(q-p[0].Flow), s
	}
	if q >= p[n-1].Flow {
		s := c.tangent(n - 1)
		return p[n-1].Rise + s*(q-p[n-1].Flow), s
	}
	lo, hi := 0, n-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; p[mid].Flow <= q {
			lo = mid
		} else {
			hi = mid
		}
	}
	h := p[hi].Flow - p[lo].Flow
	t := (q - p[lo].Flow) / h
	a, b := c.tangent(lo)*h, c.tangent(hi)*h
	dy := p[hi].Rise - p[lo].Rise
	rise = p[lo].Rise + t*(a+t*(3*dy-2*a-b+t*(a+b-2*dy)))
	slope = (a + t*(2*(3*dy-2*a-b)+3*t*(a+b-2*dy))) / h
	return rise, slope
}

// tangent is the Fritsch–Carlson slope at point i: harmonic mean of the secants
// beside it, which keeps the interpolant monotone.
func (c *Curve) tangent(i int) float64 {
	p := c.Points
	n := len(p)
	sec := func(j int) float64 { return (p[j+1].Rise - p[j].Rise) / (p[j+1].Flow - p[j].Flow) }
	if n == 2 || i == 0 {
		return sec(0)
	}
	if i == n-1 {
		return sec(n - 2)
	}
	a, b := sec(i-1), sec(i)
	if a*b <= 0 {
		return 0
	}
	ha, hb := p[i].Flow-p[i-1].Flow, p[i+1].Flow-p[i].Flow
	wa, wb := 2*hb+ha, hb+2*ha
	return (wa + wb) / (wa/a + wb/b)
}

// ends gives the flow range that the curve states.
func (c *Curve) ends() (lo, hi float64, stated bool) {
	if n := len(c.Points); n > 0 {
		return c.Points[0].Flow, c.Points[n-1].Flow, true
	}
	return 0, 0, false
}

// middle is a flow inside the useful range, to start from.
func (c *Curve) middle() float64 {
	if n := len(c.Points); n > 0 {
		return (c.Points[0].Flow + c.Points[n-1].Flow) / 2
	}
	half := c.ShutOff / 2
	if c.Quadratic > 0 {
		return math.Sqrt(half / (c.Quadratic + c.Linear*math.Sqrt(c.Quadratic/half)))
	}
	return half / c.Linear
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
