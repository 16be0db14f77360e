package power

import "math"

// Words is the chance of each verdict on one comparison. They add up to 1.
type Words struct {
	Matters    float64 // clear of zero and beyond the margin
	Real       float64 // clear of zero, reaches into the margin
	Trivial    float64 // clear of zero, inside the margin
	Equal      float64 // holds zero, inside the margin
	Unresolved float64 // holds zero, reaches past the margin
}

// Words returns the chance of each verdict on one given comparison whose true
// difference is truth, for a two-sided family. With d the estimated difference
// and h half the width of its simultaneous interval,
//
//	matters     |d| ≥ h + margin
//	real        |d| > h,  margin − h < |d| < margin + h
//	trivial     h < |d| ≤ margin − h
//	equal       |d| ≤ h,  |d| ≤ margin − h
//	unresolved  margin − h < |d| ≤ h
//
// where d is normal and h goes with the estimated noise, independent of d. It
// panics for the family [compare.Best], whose intervals have one side only.
func (c Test) Words(margin, truth, sd float64, p Precision) (Words, error) {
	if c.sides() == 1 {
		panic("power: words are of two-sided intervals")
	}
	m, err := noncentrality(margin, sd, p)
	if err != nil {
		return Words{}, err
	}
	x, err := c.Critical(p.DF)
	if err != nil {
		return Words{}, err
	}
	checkMargin(margin)
	return words(m, truth/(sd*p.SE), p.estimate(), x), nil
}

// words is [Test.Words] for margin m and truth in true standard errors,
// and intervals of x estimated standard errors to each side.
func words(m, truth float64, e estimate, x float64) Words {
	r := newRings(m, truth, e, x)
	return Words{
		Matters: r.law.mean(func(u float64) float64 {
			return above(x*u+m-truth) + above(x*u+m+truth)
		}),
		Real:       r.share(func(h float64) (a, b float64) { return max(h, m-h), m + h }),
		Trivial:    r.share(func(h float64) (a, b float64) { return h, m - h }),
		Equal:      r.share(func(h float64) (a, b float64) { return 0, min(h, m-h) }),
		Unresolved: r.unresolved(m),
	}
}

// unresolved is the last of [words] alone.
func unresolved(m, truth float64, e estimate, x float64) float64 {
	return newRings(m, truth, e, x).unresolved(m)
}

// rings are the chances that a difference lies in a ring around zero whose edges
// go with the estimated noise.
type rings struct {
	law      scale
	truth, x float64
}

func newRings(m, truth float64, e estimate, x float64) rings {
	return rings{e.law(x, m/2, m, m+math.Abs(truth)+tails), truth, x}
}

// share is the chance that |d| lies between bounds that go with half the width of
// the interval.
func (r rings) share(bounds func(h float64) (a, b float64)) float64 {
	return r.law.mean(func(u float64) float64 {
		a, b := bounds(r.x * u)
		return between(a-r.truth, b-r.truth) + between(-b-r.truth, -a-r.truth)
	})
}

func (r rings) unresolved(m float64) float64 {
	return r.share(func(h float64) (a, b float64) { return max(0, m-h), h })
}
