package law

import "math"

// betaPower returns the scale c and the exponent e of
//
//	x^a y^b / B(a, b) = c exp(e),   y = 1 - x,
//
// in Loader's saddle-point form, which keeps its digits for large a and b. It
// is the density of logit(X) for X with a beta law. Both x and y must be given to
// full relative accuracy.
func betaPower(a, b, x, y float64) (c, e float64) {
	n := a + b
	c = math.Sqrt(a / n * b / (2 * math.Pi))
	e = stirlingError(n) - stirlingError(a) - stirlingError(b)
	if a < b {
		return c, e - (betaDeviance(a, n, x) + betaDeviance(b, n, y))
	}
	return c, e - (betaDeviance(b, n, y) + betaDeviance(a, n, x))
}

// betaDeviance returns deviance(a, n x), also where n x leaves the range of
// floating-point numbers.
func betaDeviance(a, n, x float64) float64 {
	m := n * x
	if m < 1e-290 && x > 0 {
		return a*(math.Log(a/n)-math.Log(x)) + m - a
	}
	return deviance(a, m)
}

// betaLower says whether I_x(a, b) is the tail to compute, the other one being
// its complement: below the mean, or so close above it that no more than a
// digit can be lost.
func betaLower(a, b, x, y float64) bool {
	n := a + b
	if a < b {
		return n*x <= a+math.Min(1, b/8)
	}
	return n*y > b+math.Min(1, a/8)
}

// betaRatio returns I_x(a, b) divided by betaPower. It is meant for x that
// satisfy betaLower.
func betaRatio(a, b, x, y float64) float64 {
	if x*(a+b+20) < 0.5*(a+21) {
		// y^b 2F1(a+b, 1; a+1; x): all terms are positive (DLMF 8.17.8).
		term, sum := 1.0, 1.0
		for n := 1.0; ; n++ {
			term *= x * (a + b + n - 1) / (a + n)
			next := sum + term
			if !(next > sum) {
				return sum / a
			}
			sum = next
		}
	}
	return betaFraction(a, b, x, y)
}

// betaFraction returns I_x(a, b) divided by betaPower, by the continued
// fraction (BFRAC) of Didonato and Morris (1992), evaluated forwards.
func betaFraction(a, b, x, y float64) float64 {
	// λ = a - (a+b) x, from the smaller of x and y.
	lambda := a - (a+b)*x
	if y < x {
		lambda = (a+b)*y - b
	}
	// Modified Lentz method: f = β1 + α1/(β2 + α2/(β3 + …)).
	const tiny = 1e-300
	f := a / (a + 1) * (lambda + 1)
	if f == 0 {
		f = tiny
	}
	num, den := f, 0.0
	for n := 1.0; n < 1e7; n++ {
		w := a + 2*n - 1
		alpha := (a + n - 1) / w * ((a + b + n - 1) / w) * n * (b - n) * x * x
		beta := n + n*(b-n)*x/w + (a+n)/(w+2)*(lambda+1+n*(1+y))
		den = beta + alpha*den
		if den == 0 {
			den = tiny
		}
		den = 1 / den
		num = beta + alpha/num
		if num == 0 {
			num = tiny
		}
		step := num * den
		f *= step
		if math.Abs(step-1) < 2e-16 {
			break
		}
	}
	return 1 / f
}

// incBeta returns I_x(a, b), the regularised incomplete beta function, given
// x and y = 1 - x.
func incBeta(a, b, x, y float64) float64 {
	switch {
	case x <= 0:
		return 0
	case y <= 0:
		return 1
	case betaLower(a, b, x, y):
		c, e := betaPower(a, b, x, y)
		return c * betaRatio(a, b, x, y) * math.Exp(e)
	default:
		c, e := betaPower(a, b, x, y)
		return 1 - c*betaRatio(b, a, y, x)*math.Exp(e)
	}
}

// logIncBeta returns log I_x(a, b) for odds = x/y, its derivative in log odds and
// the derivative of the logarithm of that. It does not underflow.
func logIncBeta(a, b, odds float64) (value, slope, bend float64) {
	x, y := fractions(odds)
	c, e := betaPower(a, b, x, y)
	if betaLower(a, b, x, y) {
		r := betaRatio(a, b, x, y)
		value, slope = e+math.Log(c*r), 1/r
	} else {
		power := c * math.Exp(e)
		value = math.Log1p(-power * betaRatio(b, a, y, x))
		slope = power * math.Exp(-value)
	}
	return value, slope, a*y - b*x - slope
}

// betaOdds returns the odds x/(1-x) at which I_x(a, b) = p. p must lie in (0, 1).
func betaOdds(a, b, p float64) float64 {
	return solveLog(betaStart(a, b, p), math.Log(p), func(odds float64) (float64, float64, float64) {
		return logIncBeta(a, b, odds)
	})
}

// betaStart returns odds near those at which I_x(a, b) = p: Abramowitz & Stegun
// 26.5.22, or the leading term of the power series where a or b is small.
func betaStart(a, b, p float64) float64 {
	if a > 1 && b > 1 {
		z := normalUpperQuantile(p)
		l := (z*z - 3) / 6
		u, v := 1/(2*a-1), 1/(2*b-1)
		h := 2 / (u + v)
		w := z*math.Sqrt(math.Max(h+l, 0))/h - (v-u)*(l+5.0/6-2/(3*h))
		if math.Abs(w) < 50 {
			return a / b * math.Exp(-2*w)
		}
	}
	c, e := betaPower(a, b, 0.5, 0.5)
	lead := (math.Log(p*a/c) - e) / a // I_x ≈ x^a / (a B(a, b)), x ≪ 1
	return math.Exp(math.Max(-690, math.Min(lead-(1+b/a)*math.Ln2, math.Log(a/b))))
}

// fractions splits 1 into x and y with x/y = odds, each to full accuracy.
func fractions(odds float64) (x, y float64) {
	if odds < 1 {
		return odds / (1 + odds), 1 / (1 + odds)
	}
	return 1 / (1 + 1/odds), 1 / odds / (1 + 1/odds)
}
