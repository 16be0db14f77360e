package power

// A Goal is what a campaign should be able to show.
type Goal int

const (
	// Find is to find a true difference as large as the margin: its interval
	// is clear of zero.
	Find Goal = iota
	// Equal is to show that levels with no true difference do not differ by
	// the margin: the interval lies inside ±margin.
	Equal
	// Settle is to reach some verdict other than unresolved where that is
	// hardest, at a true difference of half the margin; so it reaches one at
	// any true difference. It takes the most runs of the three. It is not for
	// the family [compare.Best].
	Settle
)

// Target is what a person wants from a campaign.
type Target struct {
	Goal   Goal
	Margin float64 // smallest difference that matters, above 0, in the noise's unit
	Noise  Scatter
	Power  float64 // the chance asked for of reaching the goal, in (0, 1); plans are for 0.5 and more
}

func (t Target) check() error {
	checkMargin(t.Margin)
	checkShare(t.Power)
	if t.Goal < Find || t.Goal > Settle {
		panic("power: unknown goal")
	}
	return t.Noise.check()
}

// reach returns the chance of the goal for a margin of m true standard errors,
// with intervals of x standard errors as estimated.
func (c Test) reach(goal Goal, m float64, e estimate, x float64) float64 {
	switch goal {
	case Equal:
		return c.inside(m, 0, e, x)
	case Settle:
		if c.sides() == 1 {
			panic("power: words are of two-sided intervals")
		}
		return 1 - unresolved(m, m/2, e, x)
	}
	return c.found(m, e, x)
}

// chance returns the power for t at precision p, and the critical value.
func (c Test) chance(t Target, p Precision) (power, x float64, err error) {
	if err := t.check(); err != nil {
		return 0, 0, err
	}
	m, err := noncentrality(t.Margin, t.Noise.SD, p)
	if err != nil {
		return 0, 0, err
	}
	if x, err = c.Critical(p.DF); err != nil {
		return 0, 0, err
	}
	return c.reach(t.Goal, m, p.estimate(), x), x, nil
}

// Reach returns what a campaign of precision p achieves: the power for t at
// the noise t.Noise.SD, and the rest of an [Answer], whose N is 0.
func (c Test) Reach(t Target, p Precision) (Answer, error) {
	power, x, err := c.chance(t, p)
	if err != nil {
		return Answer{}, err
	}
	se := t.Noise.SD * p.SE
	return Answer{
		Power:      power,
		SE:         se,
		DF:         p.DF,
		Critical:   x,
		Detectable: se * c.detectable(t.Power, p.estimate(), x),
		Short:      power < t.Power,
	}, nil
}

// Assurance returns the power for t averaged over what is not known about the
// noise: with s = t.Noise.SD measured on ν = t.Noise.DF degrees of freedom the
// true noise σ is taken to follow s/σ = u, ν·u² chi-squared with ν degrees of
// freedom (the fiducial law, and the posterior under the reference prior 1/σ):
//
//	∫ power(s/u) f(u) du
//
// It is the chance of reaching the goal as it stands before the next run, our
// ignorance of the noise included. For a noise that is assumed it is the power.
// The error is [ErrNoDF] also for 0 < ν < 1.
//
// Source: Julious & Owen 2006; the word is O'Hagan's, Stevens & Campbell 2005.
func (c Test) Assurance(t Target, p Precision) (float64, error) {
	power, x, err := c.chance(t, p)
	switch {
	case err != nil:
		return 0, err
	case t.Noise.known():
		return power, nil
	case t.Noise.DF < 1:
		return 0, ErrNoDF
	}
	m := t.Margin / (t.Noise.SD * p.SE)
	law := noiseLaw(t.Noise.DF, m)
	if p.Within > 0 {
		law = noiseLaw(t.Noise.DF, min(m, 2)).thin(1e-5)
	}
	return law.mean(func(u float64) float64 {
		return c.reach(t.Goal, m*u, p.estimate(), x)
	}), nil
}
