package verdict

import (
	"fairrun/stats/compare"
	"fairrun/stats/mixed"
)

// fitted is a fitted model as the answer needs it: by least squares, or with
// random factors by REML.
type fitted interface {
	// method says how it was fitted and how degrees of freedom are found.
	method() (method, dfMethod string)
	// means are the adjusted means over the combinations of some factors.
	means(factors ...int) (*adjusted, error)
	// anova is the analysis of variance, joint the row of all treatment terms.
	anova() []ANOVARow
	joint() ANOVARow
	// sd is the standard deviation that differences are standardised by.
	sd() float64
	// noise is what differs from run to run, and between what is random.
	noise(alpha float64) Noise
}

// adjusted are adjusted means with the covariances that the model gives them,
// noise included. Where there is no noise to speak of those are all zero.
type adjusted struct {
	levels    [][]int
	n         []int
	contrasts func(rows [][]float64) *mixed.Estimates
	strata    func(weights []float64) (mixed.Strata, bool) // nil where nothing is random
}

// familyDF is what stands for the degrees of freedom of a whole family.
func (f family) familyDF() float64 {
	return compare.FamilyDF(len(f.live), func(a, b int) (df float64, estimable bool) {
		e := f.means.contrasts([][]float64{difference(len(f.labels), f.live[a], f.live[b])})
		return e.DF[0], e.Estimable[0]
	})
}
