// Package mixed fits linear mixed models: a fixed part as in package linmod, and
// random factors, nested or crossed, whose levels are a sample of those that the
// verdict is to hold for: specimens, packs, sessions, whole plots.
//
// A [Model] and a response go into [Fit]. The [Result] answers for the components
// of variance with their intervals, F tests of the terms, adjusted means and
// contrasts among them with degrees of freedom of their own, and residuals.
// [Result.Precision] puts the components in the words of ISO 5725; a [Split] says
// what the variance of a difference is with other numbers of items.
//
// # Method
//
// The response has the covariance matrix
//
//	V = σ² H,  H = I + γ1 Z1 Z1' + … + γr Zr Zr',
//
// with Zi the indicators of the levels of random factor i and γi its variance over
// that of the residual, σ². The γi ≥ 0 minimise the profiled REML criterion
// (Patterson & Thompson 1971, Biometrika 58: 545-554) by Newton's method with
// exact derivatives. A component of zero is an answer like any other.
//
// The data enter as cross products of an orthonormal basis of the fixed part, of
// the response and of the indicators. The random factor with most levels is
// eliminated beforehand: its part of H is inverted in closed form (sums over its
// levels, grouped by their numbers of rows, are all that is left of it), so that
// the work of a step does not depend on the number of rows nor on the number of
// those levels.
//
// Tests, standard errors and degrees of freedom are those of Kenward & Roger
// (1997, Biometrics 53: 983-997) or, if asked for, Satterthwaite's.
//
// # Accuracy
//
// On the public sets that R ships, components, estimates, standard errors and
// degrees of freedom agree with a solution in 40 digits to 1e-11 or better: see
// TestAgainstR. Where levels differ a thousand times as much as runs do, the
// gradient of the criterion still vanishes to 1e-7: see TestAnyLayout.
//
// In this package n is a number of rows, p the rank of the fixed part, γ a ratio
// of variances, df are degrees of freedom, se is a standard error.
//
// Read model.go first, then fit.go and criterion.go.
package mixed

import (
	"errors"

	"fairrun/stats/linmod"
)

// Model says what a response depends on.
type Model struct {
	Fixed  linmod.Model
	Random []linmod.Factor // see Nested for a factor within another
	Method Method          // for standard errors and degrees of freedom
}

// Method says how standard errors and denominator degrees of freedom are found.
type Method int

const (
	// KenwardRoger corrects covariances for the uncertainty of the components and
	// matches moments of the F statistic. Balanced split plots and one-way layouts
	// give the classical degrees of freedom. Components that are estimated as zero
	// stay among the uncertain ones: three specimens do not become thirty because they
	// happened to agree. In split plots of three blocks without effects the whole-plot
	// test then raises 3 % false alarms at the 5 % level (TestFewSpecimens); with such
	// components taken for known the same simulation gave 7.5 %.
	KenwardRoger Method = iota

	// Satterthwaite takes covariances as they are, and degrees of freedom from the
	// observed information about the components that are not zero.
	Satterthwaite
)

func (m Method) String() string {
	if m == Satterthwaite {
		return "satterthwaite"
	}
	return "kenward-roger"
}

var (
	// ErrNoRandom reports a model without a random factor: that is package
	// linmod's.
	ErrNoRandom = errors.New("no random factor")

	// ErrOneLevel reports a random factor of which only one level has rows: one
	// specimen says nothing about how specimens differ.
	ErrOneLevel = errors.New("only one level has runs: nothing shows how levels differ")

	// ErrRowPerLevel reports a random factor with a level for each row, which is
	// the residual under another name.
	ErrRowPerLevel = errors.New("every level has one run: it cannot be distinguished from run-to-run noise")

	// ErrSameGroups reports two random factors that group the rows alike.
	ErrSameGroups = errors.New("groups the runs exactly as another random factor does")

	// ErrExplained reports a random factor whose levels the fixed part tells apart
	// already.
	ErrExplained = errors.New("the fixed terms explain every difference between its levels")

	// ErrInseparable reports a random factor whose component these rows cannot tell
	// from those of the residual and of the random factors before it.
	ErrInseparable = errors.New("its variance cannot be distinguished from that of the other random terms in these runs")

	// ErrSaturated reports as many fixed effects as rows.
	ErrSaturated = errors.New("no residual degrees of freedom: as many fixed effects as runs")

	// ErrNoNoise reports that nothing is left to estimate the residual variance
	// from: the response repeats itself exactly, or the random factors explain it to
	// the last run.
	ErrNoNoise = errors.New("the fixed terms and random factors leave no run-to-run noise in these runs")

	// ErrTooLarge reports random factors with so many levels that the fit would
	// take all memory or minutes. One with as many as there are rows is none of
	// those, if it is the only one.
	ErrTooLarge = errors.New("too many levels of random factors to compute with")

	// ErrNotConverged reports that the REML criterion could not be minimised to
	// full precision.
	ErrNotConverged = errors.New("the variance components did not converge")
)

const (
	panicLength = "mixed: column and response differ in length"
	panicCode   = "mixed: code outside the levels of its factor"
)

// check panics unless every random factor has n rows and every code is a level.
func (m Model) check(n int) {
	for i := range m.Random {
		f := &m.Random[i]
		if len(f.Code) != n {
			panic(panicLength)
		}
		for _, c := range f.Code {
			if c < -1 || int(c) >= len(f.Levels) {
				panic(panicCode)
			}
		}
	}
}
