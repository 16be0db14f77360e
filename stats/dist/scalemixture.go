package dist

import "math"

// scaleMixture returns E G(S) for S = √(χ²_ν/ν), ν = df degrees of freedom:
//
//	∫ G(s) f(s) ds,   f(s) = 2 (ν/2)^(ν/2) / Γ(ν/2) s^(ν-1) exp(-ν s²/2),
//
// given log G. Every law here with an estimated standard deviation is one of these: G is
// the tail it would have if the standard deviation were known.
//
// With s = e^v the integrand is analytic, falls off on both sides and has one
// hump, so that the trapezoidal rule converges geometrically: halving the step
// squares the error (Trefethen and Weideman 2014, SIAM Review 56, 385-458). The step is
// halved until two results agree to 1e-7 and the finer one is taken. The rule is laid where the
// integrand lives, wherever in the tail of G that is, so a small result is as accurate
// as a large one. ν = +Inf gives G(1).
func scaleMixture(df float64, logG func(s float64) float64) float64 {
	if math.IsInf(df, 1) {
		return math.Exp(logG(1))
	}
	a := df / 2
	logF := func(v float64) float64 { return logG(math.Exp(v)) - a*excessExp(2*v) }
	sd := 1 / math.Sqrt(2*df+1)
	peak, top := climb(logF, sd)
	if math.IsInf(top, -1) {
		return 0
	}
	lo := edge(logF, peak, top-reach, -8*sd-reach/df)
	hi := edge(logF, peak, top-reach, 8*sd)

	n := 16
	h := (hi - lo) / float64(n)
	sum := 0.0
	for i := 1; i < n; i++ {
		sum += math.Exp(logF(lo+float64(i)*h) - top)
	}
	for last := sum * h; ; last = sum * h {
		mid := 0.0
		for i := range n {
			mid += math.Exp(logF(lo+(float64(i)+0.5)*h) - top)
		}
		sum += mid
		n *= 2
		h /= 2
		if math.Abs(sum*h-last) <= 1e-7*last || n >= 1<<15 {
			break
		}
	}
	c := 2 * math.Sqrt(a/(2*math.Pi)) * math.Exp(-stirlingError(a))
	return c * h * sum * math.Exp(top)
}

// climb returns a point close to the top of a function with one hump, and the value
// there. It starts at 0 with the given step.
func climb(f func(float64) float64, step float64) (x, y float64) {
	y = f(x)
	for range 4 {
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
	for range 5 {
		mid := (near + far) / 2
		if f(top+mid) > level {
			near = mid
		} else {
			far = mid
		}
	}
	return top + far
}
