package compare

import (
	"math"

	"fairrun/stats/law"
	"fairrun/stats/root"
)

// Table is several families as one: those of a response, which share one estimate of the noise. Between the families estimates
// are taken as uncorrelated, as those of different factors of a balanced plan are. Where they are correlated the table
// makes fewer false statements than it says, since each is about whether an estimate is far from zero (Šidák 1967).
// Make it with [OneTable].
type Table struct {
	Families []Family
	law      *law.Shared
}

// OneTable makes one family of some; of one it is the family itself.
func OneTable(families []Family) Family {
	if len(families) == 1 {
		return families[0]
	}
	var tails []func(x float64) float64
	for _, f := range families {
		tails = append(tails, func(x float64) float64 { return f.Adjust(x, math.Inf(1)) })
	}
	return Table{families, law.NewShared(tails...)}
}

// Critical implements [Family].
func (f Table) Critical(alpha, df float64) float64 {
	low := 0.0
	for _, own := range f.Families {
		low = max(low, own.Critical(alpha, df))
	}
	if !(alpha > 0 && alpha < 1) || !(low > 0) || math.IsInf(low, 1) {
		return low
	}
	return beyond(low, alpha, func(x float64) float64 { return f.Adjust(x, df) })
}

// Adjust implements [Family].
func (f Table) Adjust(t, df float64) float64 {
	if !OneSided(f) {
		t = math.Abs(t)
	}
	return f.law.Survival(t, df)
}

// beyond returns the x from low on at which a tail, which is about alpha at low or more, is alpha.
func beyond(low, alpha float64, tail func(x float64) float64) float64 {
	miss := func(x float64) float64 { return math.Log(tail(x) / alpha) }
	if miss(low) <= 0 {
		return low
	}
	high := 1.1 * low
	for miss(high) > 0 {
		low, high = high, 1.3*high
	}
	return root.Between(low, high, 1e-12*high, miss)
}
