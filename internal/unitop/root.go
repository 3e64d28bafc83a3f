package unitop

import "math"

// rise finds where a rising function of a positive variable crosses zero between low and high, at which it is at most zero
// and above zero. It works on the logarithm of the variable; the answer is the upper end of a span no wider than 9e-16 of its value.
// The function is better the nearer it is to a straight line over the logarithm.
func rise(low, high float64, f func(float64) float64) float64 {
	a, b := math.Log(low), math.Log(high)
	span := 9e-16 * math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
	return math.Exp(crossing(a, b, f(low), f(high), span, func(x float64) float64 { return f(math.Exp(x)) }))
}

// crossing finds where a rising function that is fa at a and fb, which is no less than zero, at b crosses zero. The answer is the upper
// end of an interval no wider than span, or of neighbouring numbers where span is less: the function is below zero at the lower end and
// not below it at the answer.
//
// It interpolates the inverse through the last three points by a parabola where that is sure to come nearer, else by a straight line,
// and halves the interval where it has not come to half of it in two steps. A point that falls on the newest end is moved off it, each
// time by twice as much, so that both ends come together.
//
// Source: T. R. Chandrupatla, Adv. Eng. Software 28 (1997) 145, for the parabola.
func crossing(a, b, fa, fb, span float64, f func(float64) float64) float64 {
	// x1 is the newest end, x2 the other, x3 the end before; share is where between x1 and x2 the next point lies.
	x1, f1, x2, f2 := b, fb, a, fa
	share, off, slow := f1/(f1-f2), 0.0, 0
	for range 200 {
		width := math.Abs(x2 - x1)
		if width <= span {
			break
		}
		least := math.Max(span/2, math.Nextafter(math.Abs(x1), math.Inf(1))-math.Abs(x1))
		off = math.Max(off, least)
		x := x1 + share*(x2-x1)
		if math.Abs(x-x1) < off {
			x = x1 + math.Copysign(off, x2-x1)
			off *= 2
		} else {
			off = least
		}
		if low, high := math.Min(x1, x2), math.Max(x1, x2); !(x > low && x < high) {
			if x = low + (high-low)/2; x <= low || x >= high {
				break
			}
		}
		fx := f(x)
		x3, f3 := x1, f1
		if (fx >= 0) != (f1 >= 0) {
			x3, f3, x2, f2 = x2, f2, x1, f1
		}
		x1, f1 = x, fx
		if slow++; math.Abs(x2-x1) <= width/2 {
			slow = 0
		}
		xi, phi := (x1-x2)/(x3-x2), (f1-f2)/(f3-f2)
		switch {
		case phi*phi < xi && (1-phi)*(1-phi) < 1-xi:
			share = f1/(f2-f1)*f3/(f2-f3) + (x3-x1)/(x2-x1)*f1/(f3-f1)*f2/(f3-f2)
		case slow < 2:
			share = f1 / (f1 - f2)
		default:
			share, slow = 0.5, 0
		}
	}
	if f1 >= 0 {
		return x1
	}
	return x2
}
