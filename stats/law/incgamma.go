package law

import "math"

// gammaPower returns the scale c and exponent e of
//
//	x^a exp(-x) / Γ(a) = c exp(e),
//
// in Loader's saddle-point form. It is the density of log X for X with a gamma
// law of shape a.
func gammaPower(a, x float64) (c, e float64) {
	return math.Sqrt(a / (2 * math.Pi)), -stirlingError(a) - betaDeviance(a, 1, x)
}

// gammaLowerRatio returns P(a, x) divided by gammaPower: a series of positive
// terms, DLMF 8.11.4. Meant for x ≤ a+1.
func gammaLowerRatio(a, x float64) float64 {
	term, sum := 1.0, 1.0
	for n := 1.0; ; n++ {
		term *= x / (a + n)
		next := sum + term
		if !(next > sum) {
			return sum / a
		}
		sum = next
	}
}

// gammaUpperRatio returns Q(a, x) divided by gammaPower: Legendre's continued
// fraction in its even form, DLMF 8.9.2. Meant for x > a+1.
func gammaUpperRatio(a, x float64) float64 {
	const tiny = 1e-300
	beta := x + 1 - a
	f, num, den := beta, beta, 0.0
	for n := 1.0; n < 1e7; n++ {
		alpha := -n * (n - a)
		beta += 2
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

// incGamma returns P(a, x), the regularised lower incomplete gamma function.
func incGamma(a, x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case math.IsInf(x, 1):
		return 1
	}
	c, e := gammaPower(a, x)
	if x <= a+1 {
		return c * gammaLowerRatio(a, x) * math.Exp(e)
	}
	return 1 - c*gammaUpperRatio(a, x)*math.Exp(e)
}

// incGammaUpper returns Q(a, x) = 1 - P(a, x).
func incGammaUpper(a, x float64) float64 {
	switch {
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	c, e := gammaPower(a, x)
	if x <= a+1 {
		return 1 - c*gammaLowerRatio(a, x)*math.Exp(e)
	}
	return c * gammaUpperRatio(a, x) * math.Exp(e)
}

// logIncGamma returns log P(a, x), its derivative in log x and the derivative of the
// logarithm of that, without underflow.
func logIncGamma(a, x float64) (value, slope, bend float64) {
	c, e := gammaPower(a, x)
	if x <= a+1 {
		r := gammaLowerRatio(a, x)
		value, slope = e+math.Log(c*r), 1/r
	} else {
		power := c * math.Exp(e)
		value = math.Log1p(-power * gammaUpperRatio(a, x))
		slope = power * math.Exp(-value)
	}
	return value, slope, a - x - slope
}

// logIncGammaUpper returns log Q(a, x), its derivative in -log x and the derivative
// of the logarithm of that, without underflow.
func logIncGammaUpper(a, x float64) (value, slope, bend float64) {
	c, e := gammaPower(a, x)
	if x > a+1 {
		r := gammaUpperRatio(a, x)
		value, slope = e+math.Log(c*r), 1/r
	} else {
		power := c * math.Exp(e)
		value = math.Log1p(-power * gammaLowerRatio(a, x))
		slope = power * math.Exp(-value)
	}
	return value, slope, x - a - slope
}

// gammaValue returns the x at which P(a, x) = p, or at which Q(a, x) = p if
// upper. p must lie in (0, 1).
func gammaValue(a, p float64, upper bool) float64 {
	// Start from Wilson & Hilferty (1931), or from the leading term of the series.
	z := normalUpperQuantile(p)
	if !upper {
		z = -z
	}
	r := 1 / (9 * a)
	root := 1 - r + z*math.Sqrt(r)
	start := a * root * root * root
	if root < 0.2 {
		lgamma, _ := math.Lgamma(a + 1)
		start = math.Exp(math.Max(-690, (math.Log(p)+lgamma)/a))
	}
	if upper {
		return 1 / solveLog(1/start, math.Log(p), func(r float64) (float64, float64, float64) {
			return logIncGammaUpper(a, 1/r)
		})
	}
	return solveLog(start, math.Log(p), func(x float64) (float64, float64, float64) {
		return logIncGamma(a, x)
	})
}
