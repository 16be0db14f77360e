package power

import "fairrun/stats/compare"

// Interim is one of several planned looks at a campaign, at which every comparison of a family
// is judged.
//
// Each comparison has the level that the spending function leaves to its own share of alpha in
// the whole campaign, by the t law of the degrees of freedom so far. Its interval is then a
// repeated confidence interval (Jennison & Turnbull 2000, Group Sequential Methods, chapter 9):
// it holds whatever is concluded from it, and at all looks together.
type Interim struct {
	Spending  Spending
	Fractions []float64 // information at every look so far, this one last, over that of the whole campaign; none: it is too early
	DF        float64   // degrees of freedom of the whole campaign as planned
}

// Whole returns the degrees of freedom of the whole campaign, of which df are there now: those
// planned, or more if there are more.
func (i Interim) Whole(df float64) float64 { return max(df, i.DF) }

// At returns the look at one comparison of a family that holds alpha together, in a campaign
// that has whole degrees of freedom in all. The error is [ErrNoDF] unless whole > 0.
func (i Interim) At(f compare.Family, alpha, whole float64) (Look, error) {
	c, err := Test{Family: f, Alpha: alpha}.Critical(whole)
	switch {
	case err != nil:
		return Look{}, err
	case len(i.Fractions) == 0:
		return Look{}, nil
	}
	looks := Schedule{Spending: i.Spending, Alpha: min(compare.Level(c, whole), mostAlone), Fractions: i.Fractions}.Looks()
	return looks[len(looks)-1], nil
}

// mostAlone bounds the two-sided level of one comparison, which one read on one side may exceed.
const mostAlone = 0.999

// Critical returns the critical value of the family at the look, with df degrees of freedom for
// the noise so far; +Inf where it is too early. The error is [ErrNoDF] unless df > 0.
func (i Interim) Critical(f compare.Family, alpha, df float64) (float64, error) {
	l, err := i.At(f, alpha, i.Whole(df))
	if err != nil {
		return 0, err
	}
	return l.Critical(df)
}
