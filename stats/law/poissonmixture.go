package law

import "math"

// poissonMixture is the sum that makes a noncentral law of central ones:
//
//	Σ_j w_j q_j,   w_j = exp(-m) m^j / j!,   q_j the tail of the law number j.
//
// The tails obey q_{j+1} = q_j ± d_j with increments d_j > 0 of their own two-term
// recurrence. Run in the direction in which q grows, everything is added and nothing
// subtracted, so that the sum has the relative accuracy of its first term. The
// start is found from the largest term w_j q_j, not from the largest weight:
// far out in a tail the two lie apart. Cf. Benton and Krishnamoorthy (2003),
// Computational Statistics & Data Analysis 43, 249-267.
type poissonMixture struct {
	m     float64 // mean of the weights, λ/2
	a     float64 // shape of the law number 0 that counts up with j
	rise  float64 // d_{j+1}/d_j = rise (n+j) / (a+j+1), or without (n+j) if n is +Inf
	n     float64
	upper bool                                               // survival (q grows with j) or CDF (q falls)
	tail  func(shape float64) (value, slope, unused float64) // log q and a power/q at a+j = shape
}

// reach is how far below the largest term, on the log scale, a sum is cut off.
const reach = 40

// sums returns the logarithm of the mixture, and the derivatives of that in λ and in
// log x.
func (p *poissonMixture) sums() (value, byLambda, byLogX float64) {
	j, value, slope := p.start()
	t, e := 1.0, slope/(p.a+j) // w_j q_j and w_j d_j, relative to the first w_j q_j
	var sum, inc, dens float64
	for n := 0; ; n++ {
		sum += t
		inc += e
		dens += e * (p.a + j)
		if n > 0 && !(t > 1e-17*sum) && !(e*(p.a+j) > 1e-17*dens) {
			break
		}
		if p.upper {
			w := p.m / (j + 1)
			t, e = (t+e)*w, e*p.growth(j)*w
			j++
			continue
		}
		if j == 0 {
			break
		}
		w := j / p.m
		e *= w / p.growth(j-1)
		t = t*w + e
		j--
	}
	if p.upper {
		return value + math.Log(sum), inc / (2 * sum), -dens / sum
	}
	return value + math.Log(sum), -inc / (2 * sum), dens / sum
}

// growth returns d_{j+1} / d_j.
func (p *poissonMixture) growth(j float64) float64 {
	if math.IsInf(p.n, 1) {
		return p.rise / (p.a + j + 1)
	}
	return p.rise * (p.n + j) / (p.a + j + 1)
}

// term returns log(w_j q_j) and the slope of q_j.
func (p *poissonMixture) term(j float64) (value, slope float64) {
	value, slope, _ = p.tail(p.a + j)
	if j == 0 {
		return value - p.m, slope
	}
	// Loader's form of the Poisson probability.
	return value - stirlingError(j) - deviance(j, p.m) - math.Log(2*math.Pi*j)/2, slope
}

// start returns the index of the first term to sum, its logarithm and slope. Each
// term before it is below exp(-reach) of the largest.
func (p *poissonMixture) start() (j, value, slope float64) {
	// Deep in the tail q_{j+1}/q_j is about the growth of d, and the largest term lies
	// where that cancels the fall m/(j+1) of the weights: j² + B j + C = 0. Elsewhere q
	// is flat and it lies at m.
	b, c := p.a+2, p.a+1-p.m*p.rise
	if !math.IsInf(p.n, 1) {
		b, c = b-p.m*p.rise, p.a+1-p.m*p.rise*p.n
	}
	peak := 0.0
	if disc := b*b/4 - c; disc > 0 {
		peak = math.Max(0, -b/2+math.Sqrt(disc))
	}
	if p.upper {
		peak = math.Floor(math.Max(peak, p.m))
	} else {
		peak = math.Ceil(math.Min(peak, p.m))
	}
	j = peak
	value, slope = p.term(j)
	top := value
	near, nearValue, nearSlope := j, value, slope
	for width := math.Ceil(8*math.Sqrt(peak)) + 10; !(value < top-reach) && (j > 0 || !p.upper); width = math.Ceil(1.5 * width) {
		near, nearValue, nearSlope = j, value, slope
		if j += width; p.upper {
			j = math.Max(0, j-2*width)
		}
		value, slope = p.term(j)
		top = math.Max(top, value)
	}
	// Not too far either: the terms between would overflow the scale of the first.
	for value < top-2*reach {
		mid := math.Floor((near + j) / 2)
		if mid == near || mid == j {
			return near, nearValue, nearSlope
		}
		if v, s := p.term(mid); v < top-reach {
			j, value, slope = mid, v, s
		} else {
			near, nearValue, nearSlope = mid, v, s
		}
	}
	return j, value, slope
}
