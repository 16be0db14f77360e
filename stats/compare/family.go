package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/dist"
)

// A Family is the set of comparisons whose error rate is held together.
type Family interface {
	// Critical returns the value that the largest |t| of the family stays
	// under with probability 1−alpha when there are no differences.
	Critical(alpha, df float64) float64
	// Adjust returns the chance, when there are no differences, that the
	// largest |t| of the family exceeds |t|.
	Adjust(t, df float64) float64
}

// Single is a comparison that stands alone: Student's t.
type Single struct{}

// Critical implements [Family].
func (Single) Critical(alpha, df float64) float64 {
	return dist.T{DF: df}.UpperQuantile(alpha / 2)
}

// Adjust implements [Family]: the two-sided p-value itself.
func (Single) Adjust(t, df float64) float64 {
	return min(1, 2*dist.T{DF: df}.Survival(math.Abs(t)))
}

// AllPairs is every pair among a number of levels, by the studentized range
// (Tukey–Kramer): exact for equal standard errors, conservative otherwise
// (Hayter 1984).
type AllPairs struct{ Levels int }

// Critical implements [Family].
func (f AllPairs) Critical(alpha, df float64) float64 {
	return dist.StudentizedRange{Groups: f.Levels, DF: df}.UpperQuantile(alpha) / math.Sqrt2
}

// Adjust implements [Family].
func (f AllPairs) Adjust(t, df float64) float64 {
	return dist.StudentizedRange{Groups: f.Levels, DF: df}.Survival(math.Abs(t) * math.Sqrt2)
}

// Joint is any set of contrasts with a known correlation matrix: Dunnett's
// comparisons with a baseline, trends, contrasts chosen by the person. The
// law of the largest |t| is the multivariate t.
type Joint struct{ Corr mat.Symmetric }

// Critical implements [Family].
func (f Joint) Critical(alpha, df float64) float64 {
	x, _ := dist.MultivariateT{Corr: f.Corr, DF: df}.UpperQuantile(alpha, true)
	return x
}

// Adjust implements [Family].
func (f Joint) Adjust(t, df float64) float64 {
	p, _ := dist.MultivariateT{Corr: f.Corr, DF: df}.Survival(math.Abs(t), true)
	return p
}
