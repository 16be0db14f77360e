package trace

import "math"

// neighbourNoise returns the standard deviation that the rows show against the
// cubic through two neighbours on each side, from the median of the absolute
// differences, so that edges do not count. Correlated noise shows less of itself.
func neighbourNoise(v []float64) float64 {
	if len(v) < 8 {
		return math.NaN()
	}
	every := max(1, len(v)/4000)
	r := make([]float64, 0, len(v)/every+1)
	for i := 2; i < len(v)-2; i += every {
		r = append(r, math.Abs(v[i]-(4*(v[i-1]+v[i+1])-(v[i-2]+v[i+2]))/6))
	}
	return median(r) / 0.6745 / math.Sqrt(neighbourVariance)
}

// neighbourVariance is the variance of a row less the cubic through two neighbours on each
// side, even intervals: 1 + (16+16+1+1)/36.
const neighbourVariance = 1 + 34./36

// jitter returns the variance j² of stamps about the true instants that the rows of an
// edge show: what a row differs from the cubic through its neighbours, beyond the noise.
func jitter(t, v []float64, noise float64) float64 {
	var beyond, square float64
	for i := 2; i < len(v)-2; i++ {
		fit, weights := neighbourCubic(t[i-2:i+3], v[i-2:i+3])
		r := v[i] - fit
		slope := (v[i+1] - v[i-1]) / (t[i+1] - t[i-1])
		beyond += r*r/(1+weights) - noise*noise
		square += slope * slope
	}
	if !(square > 0) {
		return 0
	}
	return max(0, beyond) / square
}

// neighbourCubic returns the cubic through the four outer of five rows at the middle one,
// and the sum of its squared weights.
func neighbourCubic(t, v []float64) (fit, weights float64) {
	outer := [4]int{0, 1, 3, 4}
	for _, a := range outer {
		w := 1.0
		for _, b := range outer {
			if b != a {
				w *= (t[2] - t[b]) / (t[a] - t[b])
			}
		}
		fit += w * v[a]
		weights += w * w
	}
	return fit, weights
}
