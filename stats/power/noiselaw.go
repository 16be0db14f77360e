package power

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
)

// scale is the law of u = s/σ, an estimated noise over the true one, as a
// discrete law on quadrature nodes: u² is chi-squared over its degrees of freedom.
type scale struct{ u, w []float64 }

// mean returns the expectation of f(u).
func (l scale) mean(f func(u float64) float64) float64 {
	sum := 0.0
	for i, u := range l.u {
		sum += l.w[i] * f(u)
	}
	return sum
}

// noiseLaw returns the law of u with df degrees of freedom, for expectations of
// functions of steep·u that bend over a distance of about 1, may have kinks
// where steep·u is one of bends, which ascend, and are straight beyond the last.
//
// Between the bends it is Gauss–Legendre quadrature on short panels, with the weights
//
//	f(u) ∝ u^(df−1) · exp(−df·u²/2)
//
// scaled to add up to 1, over the range outside which less than 1e-20 of the
// law lies. Expectations of functions between 0 and 1 are good to 1e-13. For
// df = +Inf the law is one point, u = 1.
func noiseLaw(df, steep float64, bends ...float64) scale {
	if math.IsInf(df, 1) {
		return scale{u: []float64{1}, w: []float64{1}}
	}
	reach := 9.5 / math.Sqrt(df)
	low, high := math.Max(0, 1-reach), 1+reach
	coarse := 3 / math.Sqrt(df)
	fine := math.Min(coarse, 4/steep)

	var l scale
	total := 0.0
	panel := func(a, b float64) {
		x, w := legendre()
		for i := range x {
			u := a + (b-a)*(1+x[i])/2
			v := (b - a) / 2 * w[i] * math.Exp(-df/2*overLog(u)) / u
			l.u = append(l.u, u)
			l.w = append(l.w, v)
			total += v
		}
	}
	fractional := df != math.Floor(df)
	piece := func(a, b, step float64) {
		n := math.Ceil((b - a) / step)
		for i := 0.0; i < n; i++ {
			from, to := a+(b-a)*i/n, a+(b-a)*(i+1)/n
			// A fractional power of u bends ever more towards 0: shrink panels with it.
			for ; fractional && to > 4*from && math.Pow(to, df) > 1e-18; to /= 4 {
				panel(to/4, to)
			}
			panel(from, to)
		}
	}
	from, last := low, fine
	if n := len(bends); n > 0 && bends[n-1] < high*steep {
		last = coarse
	}
	for _, x := range bends {
		if at := x / steep; at > from && at < high {
			piece(from, at, fine)
			from = at
		}
	}
	piece(from, high, last)
	for i := range l.w {
		l.w[i] /= total
	}
	return l
}

// overLog returns u² − 1 − log u², without loss of digits near 1 or near 0.
func overLog(u float64) float64 {
	y := (u - 1) * (u + 1)
	if u < 0.5 {
		return y - 2*math.Log(u)
	}
	return y - math.Log1p(y)
}

// legendre returns the nodes and weights of 16-point Gauss–Legendre quadrature
// on [−1, 1].
var legendre = sync.OnceValues(func() (x, w []float64) {
	x, w = make([]float64, 16), make([]float64, 16)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	return x, w
})

// between returns the chance that a standard normal variable lies between a and
// b, 0 if b ≤ a, without loss of digits in either tail.
func between(a, b float64) float64 {
	switch {
	case b <= a:
		return 0
	case a > 0:
		return above(a) - above(b)
	}
	return above(-b) - above(-a)
}

// above returns the upper tail of the standard normal law.
func above(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }
