package trace

import (
	"math"

	"fairrun/stats/law"
)

// budget sums up the parts of a standard uncertainty.
type budget struct {
	variance float64
	welch    float64 // Σ variance²/df, for Welch and Satterthwaite's degrees of freedom
}

// add adds a part; df is +Inf for a bounded error or a well known variance.
func (b *budget) add(variance, df float64) {
	b.variance += variance
	b.welch += variance * variance / df
}

// scaled returns the budget of c times the quantity.
func (b budget) scaled(c float64) budget {
	return budget{b.variance * c * c, b.welch * c * c * c * c}
}

// join adds another budget of an independent error.
func (b *budget) join(other budget) {
	b.variance += other.variance
	b.welch += other.welch
}

// u returns half the width of the 95 % interval over 1.96.
func (b budget) u() float64 {
	if b.variance == 0 || b.welch == 0 {
		return math.Sqrt(b.variance)
	}
	df := b.variance * b.variance / b.welch
	if df > 1000 {
		return math.Sqrt(b.variance)
	}
	return law.T{DF: max(df, 1)}.UpperQuantile(0.025) / 1.959963984540054 * math.Sqrt(b.variance)
}
