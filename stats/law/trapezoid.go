package law

import "math"

// trapezoid returns log ∫ exp(f(v) - top) dv + top over [lo, hi], for an analytic
// integrand that is negligible at and beyond both ends. Steps are halved, from n on,
// until two results agree. As the rule converges geometrically for such
// integrands (Trefethen and Weideman 2014, SIAM Review 56, 385-458), the error of the
// finer one is about the square of that: there is room for an agreement by chance.
func trapezoid(f func(v float64) float64, lo, hi, top float64, n int) float64 {
	return trapezoidTo(agreement, f, lo, hi, top, n)
}

// agreement is how far two results of trapezoid may differ: part of the finer one.
const agreement = 1e-10

// trapezoidTo is trapezoid for an integrand that is no smoother than to agree so far.
func trapezoidTo(agreement float64, f func(v float64) float64, lo, hi, top float64, n int) float64 {
	h := (hi - lo) / float64(n)
	sum := 0.0
	for i := 1; i < n; i++ {
		sum += math.Exp(f(lo+float64(i)*h) - top)
	}
	for n < 1<<16 {
		last, mid := sum, 0.0
		for i := range n {
			mid += math.Exp(f(lo+(float64(i)+0.5)*h) - top)
		}
		sum += mid
		n *= 2
		h /= 2
		if math.Abs(sum-2*last) <= 2*agreement*last {
			break
		}
	}
	return math.Log(sum*h) + top
}

// climb returns a point close to the top of a function with one hump, and the value
// there. It starts at x with the given step.
func climb(f func(float64) float64, x, step float64) (peak, top float64) {
	y := f(x)
	for range 60 {
		left, right := f(x-step), f(x+step)
		if math.IsInf(y, -1) && math.IsInf(left, -1) && math.IsInf(right, -1) {
			return x, y
		}
		stride := step
		switch {
		case left > y:
			stride, right = -step, left
		case right > y:
		default:
			step /= 2
			// Close enough: the top is within a step of half a unit of the log.
			if y-left < 1 && y-right < 1 {
				return x, y
			}
			continue
		}
		for right > y {
			x, y = x+stride, right
			stride *= 2
			right = f(x + stride)
		}
		step = math.Abs(stride) / 4
	}
	return x, y
}

// edge returns a point beyond which f, falling on that side of its top, is below
// level. It is not far beyond; guess is a distance, with its sign, to try first.
func edge(f func(float64) float64, top, level, guess float64) float64 {
	near, far := 0.0, guess
	for f(top+far) > level {
		near, far = far, 2*far
	}
	for range 4 {
		mid := (near + far) / 2
		if f(top+mid) > level {
			near = mid
		} else {
			far = mid
		}
	}
	return top + far
}
