// Package root finds where a function is zero. In: a continuous function and two points between
// which it changes its sign. Out: a point where it is zero. Read root.go.
package root

import "math"

// Between returns where f, which is continuous and differs in sign at a and b, is
// zero: to within so much, or with 0 to the last few bits. It panics if f(a) and f(b)
// have the same sign.
//
// Source: Brent 1973, Algorithms for Minimization without Derivatives, chapter 4.
func Between(a, b, within float64, f func(float64) float64) float64 {
	fa, fb := f(a), f(b)
	if fa == 0 {
		return a
	}
	if fb == 0 {
		return b
	}
	if (fa > 0) == (fb > 0) {
		panic("root: no zero in the bracket")
	}
	c, fc := a, fa
	step, before := b-a, b-a
	for range 200 {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		const eps = 0x1p-52
		tol := 2*eps*math.Abs(b) + math.Max(within/2, math.SmallestNonzeroFloat64)
		half := (c - b) / 2
		if math.Abs(half) <= tol || fb == 0 {
			return b
		}
		if math.Abs(before) < tol || math.Abs(fa) <= math.Abs(fb) {
			step, before = half, half
		} else {
			var p, q float64
			s := fb / fa
			if a == c { // secant
				p, q = 2*half*s, 1-s
			} else { // inverse quadratic
				r, t := fb/fc, fa/fc
				p = s * (2*half*t*(t-r) - (b-a)*(r-1))
				q = (t - 1) * (r - 1) * (s - 1)
			}
			if p > 0 {
				q = -q
			}
			p = math.Abs(p)
			if 2*p < math.Min(3*half*q-math.Abs(tol*q), math.Abs(before*q)) {
				step, before = p/q, step
			} else {
				step, before = half, half
			}
		}
		a, fa = b, fb
		if math.Abs(step) > tol {
			b += step
		} else {
			b += math.Copysign(tol, half)
		}
		fb = f(b)
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			step, before = b-a, b-a
		}
	}
	return b
}
