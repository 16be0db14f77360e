package power

import (
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/root"
)

// A Spending says how much of alpha interim looks may have used up by the time
// a share of the planned information is in (Lan & DeMets 1983).
type Spending int

const (
	// OBrienFleming spends almost nothing early, and leaves the last look close
	// to the level of a campaign without looks.
	OBrienFleming Spending = iota
	// Pocock spends about evenly: a large difference is found sooner, a small
	// one needs more runs.
	Pocock
)

// Spent returns the chance of a false statement used up, of alpha in all, at
// information fraction t, two-sided:
//
//	OBrienFleming  4 · (1 − Φ(z / √t)),  z the upper alpha/4 point of the standard normal law Φ
//	Pocock         alpha · log(1 + (e−1) · t)
//
// It is 0 for t ≤ 0 and alpha for t ≥ 1. O'Brien–Fleming-like spending takes
// alpha/2 on each side, as is usual; Lan & DeMets' own formula, 2·(1 − Φ(z/√t)) with z
// the upper alpha/2 point, is the one-sided form.
func (s Spending) Spent(t, alpha float64) float64 {
	checkShare(alpha)
	switch {
	case math.IsNaN(t):
		panic("power: an information fraction is a number")
	case t <= 0:
		return 0
	case t >= 1:
		return alpha
	}
	switch s {
	case OBrienFleming:
		z := law.T{DF: math.Inf(1)}.UpperQuantile(alpha / 4)
		return 4 * above(z/math.Sqrt(t))
	case Pocock:
		return alpha * math.Log1p((math.E-1)*t)
	}
	panic("power: unknown spending")
}

// Schedule is the looks at a campaign's results, planned and taken.
type Schedule struct {
	Spending  Spending
	Alpha     float64   // in all looks together, two-sided
	Fractions []float64 // information at each look over that planned in all, ascending: blocks completed over blocks planned
	Final     bool      // the last of Fractions ends the campaign, however far it got: it spends all that is left
}

// Look is what one look may conclude.
type Look struct {
	Fraction float64 // information over that planned
	Spent    float64 // chance of a false statement used up by this look and those before
	Level    float64 // two-sided level at which this look judges; 0: it is too early to conclude anything
}

// Critical returns the critical value of the look with df degrees of freedom
// for the noise so far, +Inf if Level is 0. Judging t at the level that is
// right for a normal statistic is the significance-level approach, which keeps
// alpha closely unless df is very small (Jennison & Turnbull 2000, chapter 3).
// The error is [ErrNoDF] unless df > 0.
func (l Look) Critical(df float64) (float64, error) {
	switch {
	case !(df > 0):
		return 0, ErrNoDF
	case l.Level == 0:
		return math.Inf(1), nil
	}
	return law.T{DF: df}.UpperQuantile(l.Level / 2), nil
}

// Looks returns the level of each look, such that the chance of crossing by
// look k, when there is no difference, is what the spending function allows:
//
//	P(|Z_j| > z_j for some j ≤ k) = Spent_k,   Level_k = 2 · (1 − Φ(z_k))
//
// where Z_k has independent increments in information. A look depends on those
// before it and on no later one, so that a campaign may look when it likes.
// Fractions above 1 (a campaign that was extended) spend no more than alpha.
// Where less than 1e-25 is to be spent at a look its level is 0.
//
// For a family of comparisons judge each comparison by the level that a
// schedule with Alpha = [Test.Alone] gives, with df that of the campaign as
// planned. The family's chance is then at most the number of comparisons times
// Alone, and alpha within a twentieth of it: 0.049 to 0.053 for 0.05 where it
// was simulated. The family's own critical value at the level of a schedule
// with the family's alpha is not as good: 0.052 to 0.057 for the same campaigns.
//
// Levels are good to 1e-10 relative. It panics if Fractions is empty, not
// positive or not ascending.
func (s Schedule) Looks() []Look {
	checkShare(s.Alpha)
	checkFractions(s.Fractions)
	looks := make([]Look, len(s.Fractions))
	walk := start()
	before := 0.0
	for k, t := range s.Fractions {
		spent := s.Spending.Spent(t, s.Alpha)
		if s.Final && k == len(looks)-1 {
			spent = s.Alpha
		}
		looks[k] = Look{Fraction: t, Spent: spent}
		z := math.Inf(1)
		if spend := spent - before; spend > leastSpent {
			z = root.Between(0, farthest, 0, func(z float64) float64 { return walk.leaves(z, t, 0) - spend })
			looks[k].Level = 2 * above(z)
			before = spent
		}
		if k+1 < len(looks) {
			walk = walk.onward(z, t, s.Fractions[k+1], 0)
		}
	}
	return looks
}

// Crossing returns the chance that the first look to conclude something is
// each of looks, when the statistic's mean at information fraction t is
// delta·√t: delta is the true difference over its standard error at fraction
// 1. It is the false-alarm rate by look at delta 0, and the power by look
// otherwise, with the noise known.
func Crossing(looks []Look, delta float64) []float64 {
	if math.IsNaN(delta) || math.IsInf(delta, 0) {
		panic("power: a noncentrality is a finite number")
	}
	t := make([]float64, len(looks))
	for k := range looks {
		t[k] = looks[k].Fraction
	}
	checkFractions(t)
	chance := make([]float64, len(looks))
	walk := start()
	for k, l := range looks {
		z := math.Inf(1)
		if l.Level > 0 {
			z = law.T{DF: math.Inf(1)}.UpperQuantile(l.Level / 2)
			chance[k] = walk.leaves(z, t[k], delta)
		}
		if k+1 < len(looks) {
			walk = walk.onward(z, t[k], t[k+1], delta)
		}
	}
	return chance
}

// FalseAlarms returns the chance of at least one false alarm when a comparison
// is judged at the same level, two-sided, at each of the fractions: the price
// of looking without having planned it. It is level itself for one look.
//
// It is exact for one comparison with known noise. For a family whose alpha is
// level it is close, and rather too low than too high.
func FalseAlarms(level float64, fractions []float64) float64 {
	checkShare(level)
	looks := make([]Look, len(fractions))
	for k, t := range fractions {
		looks[k] = Look{Fraction: t, Level: level}
	}
	sum := 0.0
	for _, p := range Crossing(looks, 0) {
		sum += p
	}
	return sum
}

// Inflation returns how many times the information of a campaign without looks
// one with the looks of s must be planned for, to have the same power for a
// single comparison with known noise: multiply the runs by it. It is what is
// spent if no look before the last concludes. It panics if power ≤ s.Alpha.
func (s Schedule) Inflation(power float64) float64 {
	checkShare(power)
	checkShare(s.Alpha)
	if power <= s.Alpha {
		panic("power: an inflation is for a power above alpha")
	}
	looks := s.Looks()
	last := looks[len(looks)-1].Fraction
	short := func(delta float64) float64 {
		sum := 0.0
		for _, p := range Crossing(looks, delta) {
			sum += p
		}
		return sum - power
	}
	high := 8.0
	for short(high) < 0 {
		high *= 2
	}
	c := Test{Family: compare.Single{}, Alpha: s.Alpha}
	inf := math.Inf(1)
	fixed := c.detectable(power, estimate{df: inf}, compare.Single{}.Critical(s.Alpha, inf))
	ratio := root.Between(0, high, 0, short) * math.Sqrt(last) / fixed
	return ratio * ratio
}
