package law

import "math"

// solveScore returns the u at which a probability that falls as u grows equals
// p ≤ 1/2. It works on the normal score of the probability, which for the laws of
// this package is close to a straight line in u, so that a few secant steps are
// enough; a bracket keeps them safe (the Illinois variant of regula falsi).
func solveScore(start, step, p float64, tail func(u float64) float64) float64 {
	target := normalUpperQuantile(p)
	score := func(u float64) float64 {
		z := normalUpperQuantile(math.Max(0, math.Min(1, tail(u))))
		return math.Max(-9, math.Min(40, z)) - target
	}
	a, fa := start, score(start)
	if fa == 0 {
		return a
	}
	if fa > 0 {
		step = -step
	}
	b, fb := a+step, score(a+step)
	for range 60 {
		if (fa > 0) != (fb > 0) || fb == 0 {
			break
		}
		if math.IsNaN(fb) {
			return fb
		}
		// A secant step, or twice the last one where the score is still flat.
		next := 2 * step
		if slope := (fb - fa) / (b - a); slope > 0 {
			next = math.Copysign(math.Min(math.Abs(-1.1*fb/slope), 4*math.Abs(step)), step)
		}
		a, fa = b, fb
		step = next
		b += step
		fb = score(b)
	}
	// The solution lies between a and b; b is the better end.
	for range 60 {
		if fb == 0 || math.Abs(b-a) <= 2e-15*math.Abs(b) {
			break
		}
		c := b - fb*(b-a)/(fb-fa)
		if !(math.Min(a, b) < c && c < math.Max(a, b)) {
			c = (a + b) / 2
			if c == a || c == b {
				break
			}
		}
		moved := math.Abs(c - b)
		fc := score(c)
		if (fc > 0) != (fb > 0) {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		b, fb = c, fc
		if math.Abs(fb) < 1e-14 || moved <= 1e-15*math.Abs(b) {
			break
		}
	}
	return b
}
