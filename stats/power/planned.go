package power

import (
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/law"
)

// Test is the kind of comparison that is planned. The families have
// equally many runs at each level, as a plan does; any other with a critical
// value will do as well.
//
// For [compare.Best], the one family read on one side, power is that of showing a level the
// best that is better by the margin than each of the others, which are equal. Its equivalence is that
// of showing a level to be less than the margin worse than the best, when all are equal.
type Test struct {
	Family compare.Family
	Alpha  float64 // chance that the family makes any false statement, in (0, 1)
}

// Critical returns how many standard errors an estimated difference must lie
// from zero to be found, with df degrees of freedom for the noise. The error is
// [ErrNoDF] unless df > 0.
func (c Test) Critical(df float64) (float64, error) {
	c.check()
	if !(df > 0) {
		return 0, ErrNoDF
	}
	return c.Family.Critical(c.Alpha, df), nil
}

// Alone returns the chance that one given comparison of the family makes a
// false statement when nothing differs, with df degrees of freedom for the noise: the level at which
// it would be judged, were it alone, to be judged by the same interval.
func (c Test) Alone(df float64) (float64, error) {
	x, err := c.Critical(df)
	if err != nil {
		return 0, err
	}
	return c.found(0, Precision{SE: 1, DF: df}.estimate(), x), nil
}

// Power returns the chance that the simultaneous interval of one given
// comparison is clear of zero when its true difference is diff. With the
// critical value c and the noncentrality δ = diff / (sd · p.SE) it is
//
//	P(|T| > c),   T noncentral t with p.DF degrees of freedom and noncentrality δ
//
// (where p.Within says that runs tell too, by the law given there)
// and for the family [compare.Best] the chance that the least of its leads over the others lies beyond
// c. At diff = 0 it is what [Test.Alone] returns. The errors are those of p and sd: [ErrNoDF], [ErrNoEstimate], [ErrNoNoise].
func (c Test) Power(diff, sd float64, p Precision) (float64, error) {
	delta, err := noncentrality(diff, sd, p)
	if err != nil {
		return 0, err
	}
	x, err := c.Critical(p.DF)
	if err != nil {
		return 0, err
	}
	return c.found(delta, p.estimate(), x), nil
}

// found returns the chance that an interval of x estimated standard errors to
// each side is clear of zero, for noncentrality delta.
func (c Test) found(delta float64, e estimate, x float64) float64 {
	if best, ok := c.Family.(compare.Best); ok {
		return e.law(x, math.Abs(delta)+tails).mean(func(u float64) float64 { return best.Shown(delta, x*u) })
	}
	if e.within > 0 {
		return c.clear(delta, e.law(x, math.Abs(delta)+tails), x)
	}
	t := law.NoncentralT{DF: e.df, Delta: delta}
	return math.Min(1, t.Survival(x)+t.CDF(-x))
}

// Equivalence returns the chance that the simultaneous interval of one given
// comparison lies inside ±margin when its true difference is truth: the words
// [Words.Trivial] and [Words.Equal] together. For the family [compare.Best] it is the
// chance that the lower bound is above −margin. The error is [ErrNoDF] where [Test.Detectable] is +Inf.
func (c Test) Equivalence(margin, truth, sd float64, p Precision) (float64, error) {
	m, err := noncentrality(margin, sd, p)
	if err != nil {
		return 0, err
	}
	x, err := c.Critical(p.DF)
	if err != nil {
		return 0, err
	}
	checkMargin(margin)
	if x > widest {
		return 0, ErrNoDF
	}
	return c.inside(m, truth/(sd*p.SE), p.estimate(), x), nil
}

// inside is [Test.Equivalence] for margin and truth in standard errors.
func (c Test) inside(margin, truth float64, e estimate, x float64) float64 {
	if c.sides() == 1 {
		return c.found(margin+truth, e, x)
	}
	return e.law(x, margin).mean(func(u float64) float64 {
		return between(x*u-margin-truth, margin-x*u-truth)
	})
}

// sides returns on how many sides the family reads its intervals.
func (c Test) sides() int {
	if _, ok := c.Family.(compare.Best); ok {
		return 1
	}
	return 2
}

func (c Test) check() {
	if c.Family == nil {
		panic("power: a comparison has a family")
	}
	checkShare(c.Alpha)
}

// noncentrality returns diff in true standard errors.
func noncentrality(diff, sd float64, p Precision) (float64, error) {
	if math.IsNaN(diff) || math.IsInf(diff, 0) {
		panic("power: a difference is a finite number")
	}
	if err := p.check(); err != nil {
		return 0, err
	}
	if err := checkNoise(sd); err != nil {
		return 0, err
	}
	return diff / (sd * p.SE), nil
}

// checkNoise returns [ErrNoNoise] for a noise of zero.
func checkNoise(sd float64) error {
	switch {
	case sd == 0:
		return ErrNoNoise
	case !(sd > 0) || math.IsInf(sd, 1):
		panic("power: noise is a finite standard deviation")
	}
	return nil
}

func checkMargin(margin float64) {
	if !(margin > 0) || math.IsInf(margin, 1) {
		panic("power: a margin is a finite number above zero")
	}
}

// checkShare panics unless x is a level, a power or a confidence.
func checkShare(x float64) {
	if !(x > 0 && x < 1) {
		panic("power: a level, power or confidence lies between 0 and 1")
	}
}
