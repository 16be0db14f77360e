package law

import "math"

// StudentizedRange is the law of the range of Groups ≥ 2 independent means over an
// independent estimate, on DF degrees of freedom, of their standard error: the law
// behind Tukey's comparison of all pairs. DF = +Inf is the range of standard
// normal variables.
//
// Both tails have a relative error below 1e-12, the upper one from 1 to 1e-12, for 2 to
// 100 groups and DF ≥ 1. The first question about a number of groups takes some
// milliseconds longer than later ones, as the range of that many normal
// variables is tabulated on the way; a later one takes some 15 microseconds.
type StudentizedRange struct {
	Groups int
	DF     float64
}

// valid says whether the parameters define a law.
func (r StudentizedRange) valid() bool { return r.Groups >= 2 && r.DF > 0 }

// CDF returns P(Q ≤ q).
func (r StudentizedRange) CDF(q float64) float64 {
	switch {
	case !r.valid() || math.IsNaN(q):
		return math.NaN()
	case q <= 0:
		return 0
	case math.IsInf(q, 1):
		return 1
	}
	if s := r.Survival(q); s < 0.5 {
		return 1 - s
	}
	law := rangeOf(r.Groups)
	return scaleMixture(r.DF, func(s float64) float64 { return law.logCDF(q * s) })
}

// Survival returns P(Q > q) = E P(R > q S), R the range of Groups standard normal
// variables and S = √(χ²_ν/ν), ν = DF.
func (r StudentizedRange) Survival(q float64) float64 {
	switch {
	case !r.valid() || math.IsNaN(q):
		return math.NaN()
	case q <= 0:
		return 1
	case math.IsInf(q, 1):
		return 0
	}
	law := rangeOf(r.Groups)
	return math.Min(1, scaleMixture(r.DF, func(s float64) float64 { return law.logSurvival(q * s) }))
}

// Quantile returns the q with P(Q ≤ q) = p; 0 and +Inf for p of 0 and 1.
func (r StudentizedRange) Quantile(p float64) float64 {
	switch {
	case !r.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return r.UpperQuantile(1 - p)
	case p == 0:
		return 0
	}
	return math.Exp(-solveScore(-math.Log(r.start(0.5)), 0.5, p, func(u float64) float64 { return r.CDF(math.Exp(-u)) }))
}

// UpperQuantile returns the q with P(Q > q) = p; +Inf and 0 for p of 0 and 1.
func (r StudentizedRange) UpperQuantile(p float64) float64 {
	switch {
	case !r.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return r.Quantile(1 - p)
	case p == 0:
		return math.Inf(1)
	case r.Groups == 2:
		return math.Sqrt2 * T{DF: r.DF}.UpperQuantile(p/2)
	}
	return math.Exp(solveScore(math.Log(r.start(p)), 0.05, p, func(u float64) float64 { return r.Survival(math.Exp(u)) }))
}

// start returns a first guess at an upper quantile: Bonferroni's bound.
func (r StudentizedRange) start(p float64) float64 {
	return math.Min(1e100, math.Sqrt2*T{DF: r.DF}.UpperQuantile(p/(float64(r.Groups)*float64(r.Groups-1))))
}
