package power

import (
	"math"

	"fairrun/stats/law"
	"fairrun/stats/root"
)

// widest is the half-width of an interval, in standard errors, from which on it finds no difference that anyone
// could state. A fraction of a degree of freedom makes intervals of any width: 10²⁵ standard errors with 0.06, as
// when two whole plots of each setting judge a factor.
const widest = 1e4

// Detectable returns the smallest true difference that is found with the
// given power at precision p, in sd's unit: the diff at which
// [Test.Power] is power. It is 0 if chance alone reaches that power, and +Inf where an
// interval reaches further than 10⁴ standard errors to either side.
func (c Test) Detectable(power, sd float64, p Precision) (float64, error) {
	checkShare(power)
	if err := p.check(); err != nil {
		return 0, err
	}
	if err := checkNoise(sd); err != nil {
		return 0, err
	}
	x, err := c.Critical(p.DF)
	if err != nil {
		return 0, err
	}
	return sd * p.SE * c.detectable(power, p.estimate(), x), nil
}

// detectable is [Test.Detectable] in true standard errors.
func (c Test) detectable(power float64, e estimate, x float64) float64 {
	if x > widest {
		return math.Inf(1)
	}
	short := func(delta float64) float64 { return c.found(delta, e, x) - power }
	if e.within > 0 {
		law := e.law(x)
		short = func(delta float64) float64 { return c.clear(delta, law, x) - power }
	}
	if short(0) >= 0 {
		return 0
	}
	if c.sides() == 2 && e.within == 0 {
		return law.NoncentralityT(e.df, x, power)
	}
	high := x + 1
	for short(high) < 0 {
		high *= 2
	}
	return root.Between(0, high, 0, short)
}
