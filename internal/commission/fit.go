package commission

import (
	"fmt"
	"math"
)

// matrix is a square symmetric matrix by rows.
type matrix [][]float64

func newMatrix(n int) matrix {
	m := make(matrix, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}

// without leaves one row and column out.
func (m matrix) without(k int) matrix {
	out := newMatrix(len(m) - 1)
	for i, a := 0, 0; i < len(m); i++ {
		if i == k {
			continue
		}
		for j, b := 0, 0; j < len(m); j++ {
			if j != k {
				out[a][b] = m[i][j]
				b++
			}
		}
		a++
	}
	return out
}

// cholesky gives the lower triangle L of a positive definite matrix, m = L Lᵀ.
func cholesky(m matrix) (matrix, error) {
	l := newMatrix(len(m))
	for i := range m {
		for j := 0; j <= i; j++ {
			sum := m[i][j]
			for k := 0; k < j; k++ {
				sum -= l[i][k] * l[j][k]
			}
			switch {
			case i != j:
				l[i][j] = sum / l[j][j]
			case sum > 0:
				l[i][i] = math.Sqrt(sum)
			default:
				return nil, fmt.Errorf("the uncertainties of the readings contradict each other")
			}
		}
	}
	return l, nil
}

// whitened solves L x = r, so that the sum of squares of x is the chi-square of r.
func (l matrix) whitened(r []float64) []float64 {
	x := make([]float64, len(r))
	for i := range r {
		sum := r[i]
		for k := 0; k < i; k++ {
			sum -= l[i][k] * x[k]
		}
		x[i] = sum / l[i][i]
	}
	return x
}

// solved solves L Lᵀ x = r.
func (l matrix) solved(r []float64) []float64 {
	x := l.whitened(r)
	for i := len(x) - 1; i >= 0; i-- {
		for k := i + 1; k < len(x); k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// chiSquareTail is the probability of a chi-square of at least x with n degrees of freedom, 1 where there are none.
//
// Source: NIST Digital Library of Mathematical Functions, 8.7.1 (series) and 8.9.2 (continued fraction) of the incomplete gamma
// function, from memory; tested against closed forms.
func chiSquareTail(x float64, n int) float64 {
	if n <= 0 || x <= 0 {
		return 1
	}
	a, x := float64(n)/2, x/2
	gamma, _ := math.Lgamma(a)
	front := math.Exp(-x + a*math.Log(x) - gamma)
	if x < a+1 {
		term, sum := 1/a, 1/a
		for k := 1; k < 1000; k++ {
			term *= x / (a + float64(k))
			sum += term
			if term < 1e-16*sum {
				break
			}
		}
		return math.Max(0, 1-front*sum)
	}
	// Lentz's way of evaluating the continued fraction.
	const tiny = 1e-300
	b := x + 1 - a
	c, d := 1/tiny, 1/b
	h := d
	for k := 1; k < 1000; k++ {
		an := -float64(k) * (float64(k) - a)
		b += 2
		if d = an*d + b; math.Abs(d) < tiny {
			d = tiny
		}
		if c = b + an/c; math.Abs(c) < tiny {
			c = tiny
		}
		d = 1 / d
		h *= d * c
		if math.Abs(d*c-1) < 1e-15 {
			break
		}
	}
	return math.Min(1, front*h)
}
