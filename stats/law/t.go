package law

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// T is Student's t law. DF = +Inf is the standard normal law.
//
// Both tails have a relative error below 3e-13 for every DF from 0.1 to 1e10 and
// probabilities down to 1e-300.
type T struct{ DF float64 }

// CDF returns P(T ≤ x).
func (t T) CDF(x float64) float64 { return t.Survival(-x) }

// Survival returns P(T > x). For x > 0 that is
//
//	I_{ν/(ν+x²)}(ν/2, 1/2) / 2,   ν = DF.
func (t T) Survival(x float64) float64 {
	switch {
	case !(t.DF > 0) || math.IsNaN(x):
		return math.NaN()
	case math.IsInf(t.DF, 1):
		return normalTail(x)
	case x > 0:
		return t.tail(x)
	default:
		return 1 - t.tail(-x)
	}
}

// tail returns P(T > x) for x ≥ 0.
func (t T) tail(x float64) float64 {
	r := x / math.Sqrt(t.DF)
	if r > 1e9 {
		// The leading term, as x² may overflow: r^-ν / (ν B(ν/2, 1/2)).
		c, e := betaPower(t.DF/2, 0.5, 0.5, 0.5)
		scale := c * math.Exp(e+(t.DF/2+0.5)*math.Ln2) // 1 / B(ν/2, 1/2)
		return scale / t.DF * math.Pow(r, -t.DF)
	}
	outer, inner := fractions(t.DF / x / x)
	return 0.5 * incBeta(t.DF/2, 0.5, outer, inner)
}

// Quantile returns the x with P(T ≤ x) = p; ±Inf for p of 0 and 1.
func (t T) Quantile(p float64) float64 {
	if p > 0.5 {
		return t.UpperQuantile(1 - p)
	}
	return -t.UpperQuantile(p)
}

// UpperQuantile returns the x with P(T > x) = p; ±Inf for p of 0 and 1.
func (t T) UpperQuantile(p float64) float64 {
	switch {
	case !(t.DF > 0) || !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0:
		return math.Inf(1)
	case p == 0.5:
		return 0
	case p > 0.5:
		return -t.UpperQuantile(1 - p)
	case math.IsInf(t.DF, 1):
		return -mathext.NormalQuantile(p)
	case p > 0.25:
		// P(|T| < x) = 1 - 2p keeps the digits of an x close to zero.
		return math.Sqrt(t.DF * betaOdds(0.5, t.DF/2, 1-2*p))
	default:
		return math.Sqrt(t.DF / betaOdds(t.DF/2, 0.5, 2*p))
	}
}
