package law

import "math"

// NoncentralT is the law of (Z + Delta) / S for a standard normal Z and an independent
// S = √(χ²_ν/ν), ν = DF: the law of a t statistic when there is a difference.
// DF = +Inf is the normal law with mean Delta.
//
// Both tails, for either sign of x and Delta, have a relative error below 1e-12 for
// DF ≥ 1, |Delta| up to 1e12 and probabilities down to 1e-280. (Series in
// powers of Delta cancel in the tail opposite to Delta; this is an integral with a
// positive integrand.)
type NoncentralT struct{ DF, Delta float64 }

// valid says whether the parameters define a law.
func (t NoncentralT) valid() bool {
	return t.DF > 0 && !math.IsNaN(t.Delta) && !math.IsInf(t.Delta, 0)
}

// CDF returns P(T ≤ x).
func (t NoncentralT) CDF(x float64) float64 {
	return NoncentralT{DF: t.DF, Delta: -t.Delta}.Survival(-x)
}

// Survival returns P(T > x) = E Φ(δ - x S).
func (t NoncentralT) Survival(x float64) float64 {
	switch {
	case !t.valid() || math.IsNaN(x):
		return math.NaN()
	case math.IsInf(x, 1):
		return 0
	case math.IsInf(x, -1):
		return 1
	case x == 0 || math.IsInf(t.DF, 1):
		return normalTail(x - t.Delta)
	case t.Delta == 0:
		return T{DF: t.DF}.Survival(x)
	}
	if p := t.tail(x); p < 0.9 {
		return p
	}
	// What is missing from one may hide where the integrand is steep and tiny.
	return 1 - NoncentralT{DF: t.DF, Delta: -t.Delta}.tail(-x)
}

// tail computes P(Z + δ > x S) as a mixture over S, or over Z where Φ(δ - x S) is a step beside the law
// of S.
func (t NoncentralT) tail(x float64) float64 {
	const far = 40
	size := math.Abs(t.Delta)
	if !(t.Delta*x > 0 && size > far && size > 8*math.Sqrt(2*t.DF+1)) {
		return scaleMixture(t.DF, func(s float64) float64 { return logNormalTail(x*s - t.Delta) })
	}
	// P(S < (δ+Z)/x) or, with both signs turned, P(S > (δ+Z)/x). Nothing happens at δ+Z = 0.
	logF := func(z float64) float64 {
		s := (size + z) / math.Abs(x)
		var log float64
		switch a := t.DF / 2; {
		case x < 0 && s > 0:
			log, _, _ = logIncGammaUpper(a, a*s*s)
		case x > 0 && s > 0:
			log, _, _ = logIncGamma(a, a*s*s)
		case x > 0:
			log = math.Inf(-1)
		}
		return log - z*z/2
	}
	peak, top := climb(logF, 0, 0.5)
	if math.IsInf(top, -1) {
		return 0
	}
	lo, hi := edge(logF, peak, top-reach, -8), edge(logF, peak, top-reach, 8)
	return math.Min(1, math.Exp(trapezoid(logF, lo, hi, top, 24))/math.Sqrt(2*math.Pi))
}

// Quantile returns the x with P(T ≤ x) = p; ±Inf for p of 0 and 1.
func (t NoncentralT) Quantile(p float64) float64 {
	return -NoncentralT{DF: t.DF, Delta: -t.Delta}.UpperQuantile(p)
}

// UpperQuantile returns the x with P(T > x) = p; ±Inf for p of 0 and 1.
func (t NoncentralT) UpperQuantile(p float64) float64 {
	switch {
	case !t.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0:
		return math.Inf(1)
	case p > 0.5:
		return t.Quantile(1 - p)
	case math.IsInf(t.DF, 1):
		return t.Delta + normalUpperQuantile(p)
	}
	// Far tails fall like a power of x: search on the scale of asinh x.
	start := math.Asinh(t.Delta + T{DF: t.DF}.UpperQuantile(p)*math.Sqrt(1+t.Delta*t.Delta/(2*t.DF)))
	return math.Sinh(solveScore(start, 0.1, p, func(u float64) float64 { return t.Survival(math.Sinh(u)) }))
}
