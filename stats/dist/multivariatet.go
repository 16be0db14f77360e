package dist

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// MultivariateT is the law of the largest of several t statistics that share one
// estimate of variance, on DF degrees of freedom, for any correlation matrix Corr,
// singular ones included. DF = +Inf is the same for normal variables.
//
// With product structure (see Loadings) it is ManyToOneT, exact. Otherwise each
// answer is a deterministic quasi-Monte Carlo estimate and comes with a bound for its
// error, six standard errors and a millionth; the effort grows until that is below 5e-4 of the
// answer, or some tenths of a second are spent. Where the matrix is within 0.1 of one with
// product structure, only the difference from it is estimated: below 2e-4 of the answer, in a
// few milliseconds. A quantile is that whose tail is right to three times as much. The tail is estimated as a
// tail, so that a small probability has the same relative error as a large one.
//
// twoSided asks for max |T_i|, otherwise for max T_i. A Corr that is not square with ones on
// its diagonal, or has a negative eigenvalue, panics.
type MultivariateT struct {
	Corr mat.Symmetric
	DF   float64
}

const panicCorrelation = "dist: not a correlation matrix"

// oneFactor returns the law with product structure that this one is, if it is.
func (m MultivariateT) oneFactor() (ManyToOneT, bool) {
	n := m.Corr.SymmetricDim()
	if n == 0 {
		panic(panicCorrelation)
	}
	for i := range n {
		for j := range i + 1 {
			r := m.Corr.At(i, j)
			if i == j && math.Abs(r-1) > 1e-9 || !(math.Abs(r) <= 1+1e-9) {
				panic(panicCorrelation)
			}
		}
	}
	l, ok := Loadings(m.Corr)
	for i, v := range l {
		// A matrix that was computed holds equal loadings that differ in their last digits.
		// Made equal, they are one factor of the integrand, and the law is found made.
		if v = math.Round(v*loadingGrid) / loadingGrid; math.Abs(v) < 1 {
			l[i] = v
		}
	}
	return ManyToOneT{Loadings: l, DF: m.DF}, ok
}

// loadingGrid is the inverse of a distance between loadings that no answer shows.
const loadingGrid = 1 << 45

// factorError is the relative error of ManyToOneT, with room to spare.
const factorError = 1e-11

// CDF returns P(max T_i ≤ x), or P(max |T_i| ≤ x) if twoSided, and a bound for the
// error.
func (m MultivariateT) CDF(x float64, twoSided bool) (p, bound float64) {
	if f, ok := m.oneFactor(); ok {
		p = f.CDF(x, twoSided)
		return p, p * factorError
	}
	p, bound = m.Survival(x, twoSided)
	return 1 - p, bound
}

// Survival returns P(max T_i > x), or P(max |T_i| > x) if twoSided, and a bound for the
// error.
func (m MultivariateT) Survival(x float64, twoSided bool) (p, bound float64) {
	f, ok := m.oneFactor()
	switch {
	case !(m.DF > 0) || math.IsNaN(x):
		return math.NaN(), math.NaN()
	case ok:
		p = f.Survival(x, twoSided)
		return p, p * factorError
	case twoSided && x <= 0 || math.IsInf(x, -1):
		return 1, 0
	case math.IsInf(x, 1):
		return 0, 0
	}
	p, bound, _ = newUnion(m.Corr, twoSided).adaptive(m.DF, x)
	return math.Min(1, p), bound
}

// UpperQuantile returns the x at which Survival(x, twoSided) = p, and a bound for its
// error.
func (m MultivariateT) UpperQuantile(p float64, twoSided bool) (x, bound float64) {
	f, ok := m.oneFactor()
	switch {
	case !(m.DF > 0) || !(p >= 0 && p <= 1):
		return math.NaN(), math.NaN()
	case ok:
		x = f.UpperQuantile(p, twoSided)
		return x, math.Abs(x) * factorError
	case p == 0:
		return math.Inf(1), 0
	case p == 1 && twoSided:
		return 0, 0
	case p == 1:
		return math.Inf(-1), 0
	}
	n := float64(m.Corr.SymmetricDim())
	if twoSided {
		n *= 2
	}
	start := T{DF: m.DF}.UpperQuantile(math.Min(p/n, 0.4)) // Bonferroni's bound
	return keptQuantile(m.Corr, m.DF, p, twoSided, start)
}

// Quantile returns the x at which CDF(x, twoSided) = p, and a bound for its error.
func (m MultivariateT) Quantile(p float64, twoSided bool) (x, bound float64) {
	if f, ok := m.oneFactor(); ok {
		x = f.Quantile(p, twoSided)
		return x, math.Abs(x) * factorError
	}
	return m.UpperQuantile(1-p, twoSided)
}
