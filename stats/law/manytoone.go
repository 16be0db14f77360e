package law

import (
	"math"
	"slices"
)

// ManyToOneT is the law of the largest of several t statistics that share one
// estimate of variance, on DF degrees of freedom, and whose correlations are
//
//	corr(T_i, T_j) = l_i l_j,   i ≠ j,   l = Loadings.
//
// It is Dunnett's law for comparisons with a control: with n_0 runs of the control
// and n_i of treatment i, l_i = √(n_i / (n_i + n_0)) (see ControlLoadings). DF =
// +Inf is the same for normal variables. Each loading must lie in (-1, 1), otherwise the
// answer is NaN; no loadings at all panic.
//
// A method's twoSided asks for max |T_i|, otherwise for max T_i.
//
// Both tails have a relative error below 1e-12, the upper one from 1 to 1e-12, for
// loadings up to 0.98 and DF ≥ 1; from 0.999999 on a loading takes digits away
// (MultivariateT then has another way). The first question about a set of loadings
// takes some ten milliseconds longer than later ones, as the law for normal variables is
// tabulated on the way; a later one takes some 15 microseconds. A few dozen sets are
// kept.
type ManyToOneT struct {
	Loadings []float64
	DF       float64
}

const panicNoLoadings = "law: no loadings"

// ControlLoadings returns the loadings of comparisons of groups of the given sizes
// with a control of size control: √(n / (n + control)).
func ControlLoadings(control float64, sizes ...float64) []float64 {
	loadings := make([]float64, len(sizes))
	for i, n := range sizes {
		loadings[i] = math.Sqrt(n / (n + control))
	}
	return loadings
}

// valid says whether the parameters define a law.
func (m ManyToOneT) valid() bool {
	if len(m.Loadings) == 0 {
		panic(panicNoLoadings)
	}
	return m.DF > 0 && !slices.ContainsFunc(m.Loadings, func(l float64) bool { return !(math.Abs(l) < 1) })
}

// CDF returns P(max T_i ≤ x), or P(max |T_i| ≤ x) if twoSided.
func (m ManyToOneT) CDF(x float64, twoSided bool) float64 {
	switch s := m.Survival(x, twoSided); {
	case math.IsNaN(s):
		return s
	case s < 0.5:
		return 1 - s
	case twoSided && x <= 0 || math.IsInf(x, -1):
		return 0
	}
	law := factorOf(m.Loadings, twoSided)
	return scaleMixture(m.DF, func(s float64) float64 { return law.logCDF(x * s) })
}

// Survival returns P(max T_i > x), or P(max |T_i| > x) if twoSided: E G(x S), where G is
// the same for normal variables and S = √(χ²_ν/ν), ν = DF.
func (m ManyToOneT) Survival(x float64, twoSided bool) float64 {
	switch {
	case !m.valid() || math.IsNaN(x):
		return math.NaN()
	case twoSided && x <= 0 || math.IsInf(x, -1):
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	law := factorOf(m.Loadings, twoSided)
	return math.Min(1, scaleMixture(m.DF, func(s float64) float64 { return law.logSurvival(x * s) }))
}

// Quantile returns the x at which CDF(x, twoSided) = p; for p of 0 the lower end of
// the support, for 1 +Inf.
func (m ManyToOneT) Quantile(p float64, twoSided bool) float64 {
	switch {
	case !m.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return m.UpperQuantile(1-p, twoSided)
	case p == 0 && twoSided:
		return 0
	case p == 0:
		return math.Inf(-1)
	case twoSided:
		return math.Exp(-solveScore(0, 0.5, p, func(u float64) float64 { return m.CDF(math.Exp(-u), true) }))
	default:
		// Search on the scale of asinh x, as far tails fall like a power of x.
		return math.Sinh(-solveScore(0, 0.5, p, func(u float64) float64 { return m.CDF(math.Sinh(-u), false) }))
	}
}

// UpperQuantile returns the x at which Survival(x, twoSided) = p: a critical value.
func (m ManyToOneT) UpperQuantile(p float64, twoSided bool) float64 {
	switch {
	case !m.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return m.Quantile(1-p, twoSided)
	case p == 0:
		return math.Inf(1)
	}
	n := float64(len(m.Loadings))
	if twoSided {
		start := T{DF: m.DF}.UpperQuantile(p / (2 * n)) // Bonferroni's bound
		return math.Exp(solveScore(math.Log(start), 0.02, p, func(u float64) float64 { return m.Survival(math.Exp(u), true) }))
	}
	start := T{DF: m.DF}.UpperQuantile(p / n)
	return math.Sinh(solveScore(math.Asinh(start), 0.02, p, func(u float64) float64 { return m.Survival(math.Sinh(u), false) }))
}
