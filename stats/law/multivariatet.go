package law

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// MultivariateT is the law of the largest of several t statistics that share one
// estimate of variance, on DF degrees of freedom, for any correlation matrix Corr,
// singular ones included. DF = +Inf is the same for normal variables.
//
// What the matrix is like decides how it is computed and how good it is; each answer comes with a
// bound for its error.
//
//   - With product structure (see Loadings) it is ManyToOneT, to 1e-11 of the answer.
//   - Of rank three or less, as contrasts among four means are, integrals of one dimension are
//     left (see spatial): 1e-11.
//   - Near product structure, as comparisons in incomplete blocks or with a covariate are, it is a series
//     about it (see nearProduct): some millionths, and never more than 1e-4. The bound is twice the last term.
//   - Otherwise it is a deterministic quasi-Monte Carlo estimate (see union). The bound is six
//     standard errors and a millionth; the effort grows until that is below 1e-4 of the answer, or
//     a tenth of a second is spent, and twice that on a quantile.
//
// The tail is computed as a tail, so that a small
// probability has the same relative error as a large one. The first question about a matrix takes
// some milliseconds longer than later ones, as the law for normal variables is tabulated on the way; a few
// hundred laws are kept.
//
// twoSided asks for max |T_i|, otherwise for max T_i. A Corr that is not square with ones on
// its diagonal, or has a negative eigenvalue, panics.
type MultivariateT struct {
	Corr mat.Symmetric
	DF   float64
}

const panicCorrelation = "law: not a correlation matrix"

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
		// Given the factor such a variable is next to a step: what is made for singular matrices does better.
		ok = ok && math.Abs(v) < steepLoading
		// A matrix that was computed holds equal loadings that differ in their last digits.
		// Made equal, they are one factor of the integrand, and the law is found made.
		if v = math.Round(v*loadingGrid) / loadingGrid; math.Abs(v) < 1 {
			l[i] = v
		}
	}
	return ManyToOneT{Loadings: l, DF: m.DF}, ok
}

// steepLoading is from where on product structure is not made use of.
const steepLoading = 0.9999

// loadingGrid is the inverse of a distance between loadings that no answer shows.
const loadingGrid = 1 << 45

// factorError is the relative error of ManyToOneT, with room to spare.
const factorError = 1e-11

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
	return lawOf(m.Corr, twoSided).survival(m.DF, x)
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
	return lawOf(m.Corr, twoSided).upperQuantile(m.DF, p)
}

// Quantile returns the x at which CDF(x, twoSided) = p, and a bound for its error.
func (m MultivariateT) Quantile(p float64, twoSided bool) (x, bound float64) {
	if f, ok := m.oneFactor(); ok {
		x = f.Quantile(p, twoSided)
		return x, math.Abs(x) * factorError
	}
	return m.UpperQuantile(1-p, twoSided)
}
