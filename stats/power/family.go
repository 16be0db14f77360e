package power

import (
	"math"

	"fairrun/stats/dist"
)

const badLevels = "power: a family compares two or more levels"

// A Family is the set of comparisons whose error rate is held together. It
// says how far from zero, in standard errors, an estimated difference must lie.
//
// The families here have equally many runs at each level, as a plan does; any
// other with a critical value will do as well.
type Family interface {
	// Critical returns the value that the largest |t| of the family stays
	// under with probability 1−alpha when there are no differences, with df
	// degrees of freedom for the noise.
	Critical(alpha, df float64) float64
}

// Single is a comparison that stands alone: Student's t, two-sided.
type Single struct{}

// Critical implements [Family].
func (Single) Critical(alpha, df float64) float64 {
	return dist.T{DF: df}.UpperQuantile(alpha / 2)
}

// Pairs is every pair among Levels ≥ 2 levels: the studentized range q of
// Tukey's simultaneous intervals, q/√2 standard errors of a difference. It
// panics if Levels < 2.
type Pairs struct{ Levels int }

// Critical implements [Family].
func (f Pairs) Critical(alpha, df float64) float64 {
	switch {
	case f.Levels < 2:
		panic(badLevels)
	case f.Levels == 2:
		return Single{}.Critical(alpha, df)
	}
	return dist.StudentizedRange{Groups: f.Levels, DF: df}.UpperQuantile(alpha) / math.Sqrt2
}

// Baseline is each of the other levels against one of Levels ≥ 2: Dunnett's
// two-sided critical value, with correlation 1/2 between any two comparisons.
// It panics if Levels < 2.
type Baseline struct{ Levels int }

// Critical implements [Family].
func (f Baseline) Critical(alpha, df float64) float64 {
	if f.Levels < 2 {
		panic(badLevels)
	}
	if f.Levels == 2 {
		return Single{}.Critical(alpha, df)
	}
	return manyToOne(f.Levels, df).UpperQuantile(alpha, true)
}

// Best is each of Levels ≥ 2 levels with the best of the others (Hsu 1984,
// Annals of Statistics 12, 1136–1144): Dunnett's one-sided critical value.
//
// It is the one family read on one side. Its power is that of dropping a level
// that is worse by the margin than one given level: at least so much is sure,
// since any other better level can drop it too. Its equivalence is that of showing a
// level to be less than the margin worse than one given level. It panics if Levels < 2.
type Best struct{ Levels int }

// Critical implements [Family].
func (f Best) Critical(alpha, df float64) float64 {
	if f.Levels < 2 {
		panic(badLevels)
	}
	if f.Levels == 2 {
		return dist.T{DF: df}.UpperQuantile(alpha)
	}
	return manyToOne(f.Levels, df).UpperQuantile(alpha, false)
}

// manyToOne is the law of levels−1 comparisons with one baseline that has as
// many runs as each of the others.
func manyToOne(levels int, df float64) dist.ManyToOneT {
	l := make([]float64, levels-1)
	for i := range l {
		l[i] = math.Sqrt(0.5)
	}
	return dist.ManyToOneT{Loadings: l, DF: df}
}
