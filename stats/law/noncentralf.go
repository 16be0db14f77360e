package law

import "math"

// NoncentralF is the law of the ratio of a noncentral mean square on D1 degrees of
// freedom, with noncentrality Lambda ≥ 0, to an independent central one on D2:
// the law of an F statistic when there are differences. D2 may be +Inf.
//
// Both tails have a relative error below 1e-12 for degrees of freedom from 0.5 to 1e4,
// Lambda up to 1e4 and probabilities down to 1e-280. The work grows with
// √Lambda.
type NoncentralF struct{ D1, D2, Lambda float64 }

// valid says whether the parameters define a law.
func (f NoncentralF) valid() bool {
	return f.D1 > 0 && f.D2 > 0 && !math.IsInf(f.D1, 1) && f.Lambda >= 0 && !math.IsInf(f.Lambda, 1)
}

// sums returns the logarithm of a tail and its derivatives in Lambda and log x.
func (f NoncentralF) sums(x float64, upper bool) (value, byLambda, byLogX float64) {
	if math.IsInf(f.D2, 1) {
		return NoncentralChiSquared{DF: f.D1, Lambda: f.Lambda}.sums(f.D1*x, upper)
	}
	odds := f.D1 / f.D2 * x
	y, _ := fractions(odds)
	b := f.D2 / 2
	p := poissonMixture{m: f.Lambda / 2, a: f.D1 / 2, rise: y, n: f.D1/2 + b, upper: upper}
	if upper {
		p.tail = func(shape float64) (float64, float64, float64) { return logIncBeta(b, shape, 1/odds) }
	} else {
		p.tail = func(shape float64) (float64, float64, float64) { return logIncBeta(shape, b, odds) }
	}
	return p.sums()
}

// CDF returns P(F ≤ x) = Σ_j exp(-λ/2) (λ/2)^j / j! I_y(D1/2 + j, D2/2), with
// y = D1 x / (D1 x + D2).
func (f NoncentralF) CDF(x float64) float64 {
	switch {
	case !f.valid() || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 0
	case math.IsInf(x, 1):
		return 1
	case f.Lambda == 0:
		return F{D1: f.D1, D2: f.D2}.CDF(x)
	}
	p, _, _ := f.sums(x, false)
	return math.Min(math.Exp(p), 1)
}

// Survival returns P(F > x), the same sum of I_{1-y}(D2/2, D1/2 + j).
func (f NoncentralF) Survival(x float64) float64 {
	switch {
	case !f.valid() || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	case f.Lambda == 0:
		return F{D1: f.D1, D2: f.D2}.Survival(x)
	}
	p, _, _ := f.sums(x, true)
	return math.Min(math.Exp(p), 1)
}

// Quantile returns the x with P(F ≤ x) = p; 0 and +Inf for p of 0 and 1.
func (f NoncentralF) Quantile(p float64) float64 {
	switch {
	case !f.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return f.UpperQuantile(1 - p)
	case p == 0:
		return 0
	}
	return solveLog(f.start(p, false), math.Log(p), func(x float64) (float64, float64, float64) {
		value, _, byLogX := f.sums(x, false)
		return value, byLogX, 0
	})
}

// UpperQuantile returns the x with P(F > x) = p; +Inf and 0 for p of 0 and 1.
func (f NoncentralF) UpperQuantile(p float64) float64 {
	switch {
	case !f.valid() || !(p >= 0 && p <= 1):
		return math.NaN()
	case p > 0.5:
		return f.Quantile(1 - p)
	case p == 0:
		return math.Inf(1)
	}
	start := f.start(p, true)
	if math.IsInf(start, 1) {
		return start // so is the answer, beyond the range of floating-point numbers
	}
	return 1 / solveLog(1/start, math.Log(p), func(r float64) (float64, float64, float64) {
		value, _, byLogX := f.sums(1/r, true)
		return value, -byLogX, 0
	})
}

// start returns a quantile of the central law with Patnaik's degrees of freedom.
func (f NoncentralF) start(p float64, upper bool) float64 {
	scale, df := NoncentralChiSquared{DF: f.D1, Lambda: f.Lambda}.patnaik()
	scale *= df / f.D1
	if upper {
		return scale * F{D1: df, D2: f.D2}.UpperQuantile(p)
	}
	return scale * F{D1: df, D2: f.D2}.Quantile(p)
}
