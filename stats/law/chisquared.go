package law

import "math"

// ChiSquared is the law of a sum of squares of DF independent standard normal
// variables; DF need not be whole.
//
// Both tails have a relative error below 3e-13 for DF from 0.1 to 1e8 and
// probabilities down to 1e-300.
type ChiSquared struct{ DF float64 }

// valid says whether DF defines a law.
func (c ChiSquared) valid() bool { return c.DF > 0 && !math.IsInf(c.DF, 1) }

// CDF returns P(χ² ≤ x) = P(DF/2, x/2), the lower incomplete gamma function.
func (c ChiSquared) CDF(x float64) float64 {
	if !c.valid() || math.IsNaN(x) {
		return math.NaN()
	}
	return incGamma(c.DF/2, x/2)
}

// Survival returns P(χ² > x) = Q(DF/2, x/2), the upper incomplete gamma function.
func (c ChiSquared) Survival(x float64) float64 {
	if !c.valid() || math.IsNaN(x) {
		return math.NaN()
	}
	return incGammaUpper(c.DF/2, x/2)
}

// Quantile returns the x with P(χ² ≤ x) = p; 0 and +Inf for p of 0 and 1.
func (c ChiSquared) Quantile(p float64) float64 {
	switch {
	case !c.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return c.UpperQuantile(1 - p)
	case p == 0:
		return 0
	}
	return 2 * gammaValue(c.DF/2, p, false)
}

// UpperQuantile returns the x with P(χ² > x) = p; +Inf and 0 for p of 0 and 1.
func (c ChiSquared) UpperQuantile(p float64) float64 {
	switch {
	case !c.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return c.Quantile(1 - p)
	case p == 0:
		return math.Inf(1)
	}
	return 2 * gammaValue(c.DF/2, p, true)
}
