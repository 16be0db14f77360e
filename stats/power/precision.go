package power

import (
	"errors"
	"math"
)

// Errors of data that cannot support the question.
var (
	// ErrNoDF says that fewer than one degree of freedom is left to estimate
	// the noise, so that no interval exists at all.
	ErrNoDF = errors.New("no residual degrees of freedom: add runs or leave terms out")
	// ErrNoNoise says that the noise is zero, so that any difference, however
	// small, would be found by any number of runs.
	ErrNoNoise = errors.New("the noise is zero: state the noise that is expected between runs")
	// ErrNoEstimate says that the comparison cannot be estimated from so few runs.
	ErrNoEstimate = errors.New("the comparison cannot be estimated: a level has no runs")
)

// Precision is what a campaign of some size offers a comparison of two levels.
type Precision struct {
	// SE is the standard error of the difference for noise of one unit: with n
	// runs at each level √(2/n), more where drift or incomplete blocks cost
	// some; +Inf if nothing is known yet.
	SE float64
	// DF is the residual degrees of freedom the noise is estimated on.
	DF float64
}

// check returns what keeps p from supporting a comparison, or nil.
func (p Precision) check() error {
	switch {
	case math.IsNaN(p.SE) || math.IsNaN(p.DF) || p.SE <= 0:
		panic("power: a precision has a positive standard error and degrees of freedom")
	case math.IsInf(p.SE, 1):
		return ErrNoEstimate
	case p.DF < 1:
		return ErrNoDF
	}
	return nil
}

// Growth is how precision grows with a whole number: of blocks, of
// replicates, of further blocks.
type Growth struct {
	Least int                   // smallest number that makes sense: 1, or 0 for further ones
	At    func(n int) Precision // precision with n of them, never worse than with fewer
}
