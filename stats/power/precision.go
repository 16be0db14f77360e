package power

import (
	"errors"
	"math"
)

// Errors of data that cannot support the question.
var (
	// ErrNoDF says that no degrees of freedom are left to estimate
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
	// DF is the degrees of freedom the standard error is estimated on: any above zero, whole or not.
	DF float64

	// Within is the share of SE² that the noise from run to run leaves by itself, which WithinDF degrees of
	// freedom estimate besides, where SE holds a component of variance too that is estimated and is never
	// below zero; 0: SE is estimated by DF alone. See [Precision.WithInterplay].
	Within, WithinDF float64
}

// WithInterplay returns the precision p of a comparison of two of so many levels by the runs, when it is judged by how far
// specimens, a sample of their type, agree on it. With u specimens, on each of which every level is run, and a standard
// deviation of s from specimen to specimen of what a level does, over the noise from run to run,
//
//	SE² = p.SE² + 2 s²/u
//	DF  = (u − 1)(levels − 1) (1 − h)²
//
// where h is the share of what runs tell that drift takes, and Within = p.SE²/SE², the rest of p.DF beside it. With
// one run of a level on each specimen runs tell nothing else, and DF is p.DF.
//
// The estimate of SE² that restricted maximum likelihood makes of balanced runs is then, over SE² itself,
//
//	M₁                                    where M₁ ≥ Within · M₂
//	(DF M₁ + WithinDF Within M₂) / (DF + WithinDF)    otherwise: the component is zero
//
// with independent M₁ and M₂, chi-squared with DF and WithinDF degrees of freedom over these (Searle, Casella &
// McCulloch 1992, Variance Components, section 3.8), and it is compared with the t law of DF in both cases (Kenward & Roger
// 1997, Biometrics 53). Few specimens can be lucky to agree, but never by more than the noise: that is what makes two
// of them hopeless.
func (p Precision) WithInterplay(specimens, levels int, s, h float64) Precision {
	if specimens < 2 || levels < 2 || !(s >= 0) || !(h >= 0) {
		panic("power: interplay is of two or more specimens and levels, and not negative")
	}
	own := float64((specimens - 1) * (levels - 1))
	se2 := p.SE*p.SE + 2*s*s/float64(specimens)
	left := max(0, 1-h)
	out := Precision{SE: math.Sqrt(se2), DF: own * left * left}
	if rest := p.DF - own*left; rest > 0.5 {
		out.Within, out.WithinDF = p.SE*p.SE/se2, rest
	} else {
		out.DF = min(own, p.DF)
	}
	return out
}

// estimate is what the law of an estimated SE² over the true one depends on.
type estimate struct{ df, within, withinDF float64 }

func (p Precision) estimate() estimate { return estimate{p.DF, p.Within, p.WithinDF} }

// check returns what keeps p from supporting a comparison, or nil.
func (p Precision) check() error {
	switch {
	case math.IsNaN(p.SE) || math.IsNaN(p.DF) || p.SE <= 0:
		panic("power: a precision has a positive standard error and degrees of freedom")
	case math.IsInf(p.SE, 1):
		return ErrNoEstimate
	case !(p.DF > 0):
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
