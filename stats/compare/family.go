package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/law"
)

// A Family is the set of comparisons whose error rate is held together. It
// says how far from zero, in standard errors, an estimated difference must lie.
type Family interface {
	// Critical returns the value that the largest t of the family (|t|, but
	// for one-sided families) stays under with probability 1−alpha when there
	// are no differences, with df degrees of freedom for the noise.
	Critical(alpha, df float64) float64
	// Adjust returns the chance, when there are no differences, that the
	// largest t of the family exceeds the one given: its adjusted p-value.
	Adjust(t, df float64) float64
}

// A Kind of family, as a person asks for it.
type Kind string

// Kinds of families.
const (
	KindPairs    Kind = "pairs"    // every level with every other
	KindBaseline Kind = "baseline" // every level with one
	KindBest     Kind = "best"     // every level with the best of the others
)

const badLevels = "compare: a family compares two or more levels"

// Single is a comparison that stands alone: Student's t, two-sided.
type Single struct{}

// Critical implements [Family].
func (Single) Critical(alpha, df float64) float64 {
	return law.T{DF: df}.UpperQuantile(alpha / 2)
}

// Adjust implements [Family]: the two-sided p-value itself.
func (Single) Adjust(t, df float64) float64 {
	return min(1, 2*law.T{DF: df}.Survival(math.Abs(t)))
}

// Pairs is every pair among Levels ≥ 2 levels: the studentized range q of
// Tukey's simultaneous intervals, q/√2 standard errors of a difference. It is
// exact for equal standard errors, conservative otherwise (Hayter 1984). It
// panics if Levels < 2.
type Pairs struct{ Levels int }

// Critical implements [Family].
func (f Pairs) Critical(alpha, df float64) float64 {
	if f.two() {
		return Single{}.Critical(alpha, df)
	}
	return law.StudentizedRange{Groups: f.Levels, DF: df}.UpperQuantile(alpha) / math.Sqrt2
}

// Adjust implements [Family].
func (f Pairs) Adjust(t, df float64) float64 {
	if f.two() {
		return Single{}.Adjust(t, df)
	}
	return law.StudentizedRange{Groups: f.Levels, DF: df}.Survival(math.Abs(t) * math.Sqrt2)
}

// two says whether there is one pair only.
func (f Pairs) two() bool {
	if f.Levels < 2 {
		panic(badLevels)
	}
	return f.Levels == 2
}

// Joint is any set of contrasts with a known correlation matrix: Dunnett's
// comparisons with a baseline, trends, contrasts chosen by the person. The law
// of the largest |t|, or of the largest t when OneSided, is the multivariate t;
// [law.MultivariateT] says how accurate it is where the matrix has no product
// structure.
type Joint struct {
	Corr     mat.Symmetric
	OneSided bool
}

// Critical implements [Family].
func (f Joint) Critical(alpha, df float64) float64 {
	x, _ := law.MultivariateT{Corr: f.Corr, DF: df}.UpperQuantile(alpha, !f.OneSided)
	return x
}

// Adjust implements [Family].
func (f Joint) Adjust(t, df float64) float64 {
	if !f.OneSided {
		t = math.Abs(t)
	}
	p, _ := law.MultivariateT{Corr: f.Corr, DF: df}.Survival(t, !f.OneSided)
	return p
}

// Together is the family of contrasts whose estimates have a correlation matrix: [Single] for one
// that is read on both sides, otherwise [Joint].
func Together(corr mat.Symmetric, oneSided bool) Family {
	if corr.SymmetricDim() == 1 && !oneSided {
		return Single{}
	}
	return Joint{Corr: corr, OneSided: oneSided}
}

// FamilyDF returns the degrees of freedom that stand for a whole family where one number has to:
// the smallest among the pairs of k levels that can be estimated, infinite where none can.
func FamilyDF(k int, pair func(a, b int) (df float64, estimable bool)) float64 {
	least := math.Inf(1)
	for b := range k {
		for a := range b {
			if df, ok := pair(a, b); ok {
				least = min(least, df)
			}
		}
	}
	return least
}

// Chance returns the chance that a family with the critical value given makes any false statement: 0
// where the critical value is infinite.
func Chance(f Family, critical, df float64) float64 {
	if math.IsInf(critical, 1) {
		return 0
	}
	return f.Adjust(critical, df)
}

// Slices is a family made again in each of Count slices of the data, all slices
// together being one family by Bonferroni: each gets alpha/Count.
type Slices struct {
	Family
	Count int // 1 or more
}

// Critical implements [Family].
func (f Slices) Critical(alpha, df float64) float64 {
	return f.Family.Critical(alpha/float64(f.Count), df)
}

// Adjust implements [Family].
func (f Slices) Adjust(t, df float64) float64 {
	return min(1, float64(f.Count)*f.Family.Adjust(t, df))
}
