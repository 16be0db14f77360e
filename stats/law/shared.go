package law

import "math"

// Shared is the law of the largest statistic over several sets that share one estimate of the standard deviation and are
// independent otherwise: of each set, the tail that it has where that is known. Where estimates of sets are
// correlated it is an upper bound (Šidák 1967, JASA 62: 626-633). Make it with [NewShared]. It is safe for
// concurrent use.
type Shared struct {
	log *curve // of the tail when the standard deviation is known
}

// sharedTop is from where on the tail is computed each time.
const sharedTop = 30

// NewShared is the law of sets with the tails given, which are 1 at zero.
func NewShared(tails ...func(x float64) float64) *Shared {
	return &Shared{newCurve(0, sharedTop, func(x float64) float64 {
		inside := 0.0
		for _, tail := range tails {
			inside += math.Log1p(-math.Min(1, tail(x)))
		}
		return math.Log(-math.Expm1(inside))
	})}
}

// Survival returns the chance that the largest statistic exceeds x with df degrees of freedom; +Inf is a known
// standard deviation.
func (l *Shared) Survival(x, df float64) float64 {
	switch {
	case !(df > 0) || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return math.Min(1, scaleMixture(df, func(s float64) float64 { return l.log.at(x * s) }))
}
