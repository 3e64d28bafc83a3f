package unitop

import "math"

// rise finds where a rising function of a positive variable crosses zero between low and high, at which it is at most zero
// and above zero. It works on the logarithm of the variable, by false position with halved ends (the Illinois variant) and
// every third step by halving the span, so that jumps cannot stall it; the answer is the upper end of a span no wider than
// 2e-15 of its value. The function is better the nearer it is to a straight line over the logarithm.
func rise(low, high float64, f func(float64) float64) float64 {
	a, b := math.Log(low), math.Log(high)
	fa, fb := f(low), f(high)
	for i := 0; i < 200; i++ {
		width := b - a
		if width <= 2e-15*math.Max(1, math.Max(math.Abs(a), math.Abs(b))) {
			break
		}
		m := a + width/2
		if i%3 != 2 && !math.IsInf(fa, 0) && !math.IsInf(fb, 0) && fb > fa {
			if s := b - fb*width/(fb-fa); s > a && s < b {
				m = s
			}
		}
		fm := f(math.Exp(m))
		if fm == 0 {
			return math.Exp(m)
		}
		if fm > 0 {
			b, fb = m, fm
			fa /= 2
		} else {
			a, fa = m, fm
			fb /= 2
		}
	}
	return math.Exp(b)
}
