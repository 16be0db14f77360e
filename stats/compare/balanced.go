package compare

import (
	"math"

	"fairrun/stats/law"
)

// Baseline is each of the other levels against one of Levels ≥ 2, with equally
// many runs at each, as in a plan: Dunnett's two-sided law with correlation 1/2
// between any two comparisons. It panics if Levels < 2. With other numbers use
// [Joint].
type Baseline struct{ Levels int }

// Critical implements [Family].
func (f Baseline) Critical(alpha, df float64) float64 {
	return manyToOne(f.Levels, df).UpperQuantile(alpha, true)
}

// Adjust implements [Family].
func (f Baseline) Adjust(t, df float64) float64 {
	return manyToOne(f.Levels, df).Survival(math.Abs(t), true)
}

// Best is each of Levels ≥ 2 levels with the best of the others, with equally many runs at each, as in
// a plan, by the low ends of [law.LessBest]: how far the level that leads must lie from every other to be
// shown the best. It is the one family read on one side. It panics if Levels < 2. For estimates use [Leads].
type Best struct{ Levels int }

// Critical implements [Family].
func (f Best) Critical(alpha, df float64) float64 { return f.law(df).Lower(alpha) }

// Adjust implements [Family].
func (f Best) Adjust(t, df float64) float64 { return f.law(df).LowerP(max(0, t)) }

// Shown returns the chance that a level whose mean lies delta standard errors of a difference above
// each of the others is shown the best, when low ends lie critical true standard errors below.
func (f Best) Shown(delta, critical float64) float64 {
	return law.LessBest{Groups: f.Levels, DF: math.Inf(1)}.Ahead(delta - critical)
}

func (f Best) law(df float64) law.LessBest {
	if f.Levels < 2 {
		panic(badLevels)
	}
	return law.LessBest{Groups: f.Levels, DF: df}
}

// manyToOne is the law of levels−1 comparisons with one baseline that has as
// many runs as each of the others.
func manyToOne(levels int, df float64) law.ManyToOneT {
	if levels < 2 {
		panic(badLevels)
	}
	l := make([]float64, levels-1)
	for i := range l {
		l[i] = math.Sqrt(0.5)
	}
	return law.ManyToOneT{Loadings: l, DF: df}
}
