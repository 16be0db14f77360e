package law

import "math"

// NoncentralityT returns the Delta > 0 at which a two-sided t test with df degrees of
// freedom and the given critical value has the given power:
//
//	P(|T'| > critical) = power,   T' ~ NoncentralT{DF: df, Delta: Delta}.
//
// A power that is below the level of the test, P(|T| > critical), is NaN.
func NoncentralityT(df, critical, power float64) float64 {
	return math.Sqrt(NoncentralityF(1, df, critical*critical, power))
}

// NoncentralityF returns the Lambda at which an F test with the given critical
// value has the given power: NoncentralF{d1, d2, Lambda}.Survival(critical) = power. d2
// may be +Inf. A power below the level of the test is NaN.
func NoncentralityF(d1, d2, critical, power float64) float64 {
	f := NoncentralF{D1: d1, D2: d2}
	level := f.Survival(critical)
	if math.IsNaN(level) {
		return level
	}
	return noncentrality(d1, d1*critical, level, power, func(lambda float64, upper bool) (value, byLambda float64) {
		f.Lambda = lambda
		value, byLambda, _ = f.sums(critical, upper)
		return value, byLambda
	})
}

// NoncentralityChiSquared returns the Lambda at which a chi-squared test with the
// given critical value has the given power:
// NoncentralChiSquared{df, Lambda}.Survival(critical) = power. A power below the level of
// the test is NaN.
func NoncentralityChiSquared(df, critical, power float64) float64 {
	return NoncentralityF(df, math.Inf(1), critical/df, power)
}

// noncentrality solves upper tail = power for lambda, given the logarithm of either
// tail and its derivative; critical is on the scale of
// chi-squared with d1 degrees of freedom, and level is the tail at lambda 0.
func noncentrality(d1, critical, level, power float64, logTail func(lambda float64, upper bool) (value, byLambda float64)) float64 {
	switch {
	case !(critical > 0) || math.IsInf(critical, 1) || !(power >= level && power <= 1):
		return math.NaN()
	case power == level:
		return 0
	case power == 1:
		return math.Inf(1)
	}
	// √λ is about normal: √critical plus a normal score, less what d1 gives for nothing.
	root := math.Sqrt(critical) - normalUpperQuantile(power)
	start := math.Max(root*root-d1, 0.1)
	if power > 0.5 {
		return solveLog(start, -math.Log1p(-power), func(lambda float64) (float64, float64, float64) {
			value, by := logTail(lambda, false)
			return -value, -by * lambda, 0
		})
	}
	return solveLog(start, math.Log(power), func(lambda float64) (float64, float64, float64) {
		value, by := logTail(lambda, true)
		return value, by * lambda, 0
	})
}

// NoncentralTDelta returns the Delta at which NoncentralT{df, Delta}.Survival(x) = p.
// An interval for a standardised difference, with confidence 1-α, is read from an
// observed t as
//
//	NoncentralTDelta(df, t, α/2)  to  NoncentralTDelta(df, t, 1-α/2)
//
// times the standard error of the difference in units of the standard deviation. p of 0
// and 1 give ∓Inf.
func NoncentralTDelta(df, x, p float64) float64 {
	switch {
	case !(df > 0) || math.IsNaN(x) || math.IsInf(x, 0) || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return -NoncentralTDelta(df, -x, 1-p)
	case p == 0:
		return math.Inf(-1)
	case math.IsInf(df, 1):
		return x - normalUpperQuantile(p)
	}
	// The tail falls as u = -Delta grows.
	z := normalUpperQuantile(p) * math.Sqrt(1+x*x/(2*df))
	return -solveScore(z-x, 0.1*math.Max(1, z), p, func(u float64) float64 {
		return NoncentralT{DF: df, Delta: -u}.Survival(x)
	})
}
