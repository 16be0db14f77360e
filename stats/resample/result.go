package resample

import "math"

// Result is the answer for one response.
type Result struct {
	F        float64 // of all treatments, given blocks and drift; with whole plots −2·Σ ln p of the F tests within and between them
	DF1, DF2 int     // its degrees of freedom
	P        float64 // that no treatment does anything: exact

	Orders int  // orders that were judged
	Exact  bool // they are all orders that might have been drawn

	Families []FamilyResult // as in the design
}

// FamilyResult is the answer for a family. With whole plots, where its comparisons
// lie in several strata, F and P are NaN.
type FamilyResult struct {
	F   float64 // of its comparisons together; NaN when DF1 is 0
	DF1 int     // 0: none of them can be estimated
	P   float64 // that all of them are zero, whatever else the treatments do; NaN when DF1 is 0

	Comparisons []Answer // as in the design
}

// Answer is the answer for one comparison. Its numbers are NaN when the
// runs cannot estimate it.
type Answer struct {
	Estimable bool
	Estimate  float64 // adjusted for blocks and drift
	SE        float64 // by least squares
	T         float64
	Between   float64 // share of SE² that comes from between whole plots

	P         float64 // that it is zero, whatever the other treatments do
	PAdjusted float64 // likewise, for the whole family
	PComplete float64 // that no treatment does anything, for the whole family: exact; with whole plots at most so large

	// Low and High are the simultaneous interval, infinite where there are too
	// few orders to reject any value. NaN when the design has Alpha 0.
	Low, High float64
}

// share turns a count into a p-value.
func (c *tally) share(count int, exact bool) float64 {
	if exact {
		return float64(count) / float64(c.orders)
	}
	return float64(1+count) / float64(1+c.orders)
}

// needed returns how many of the orders must be as extreme for p > alpha.
func (c *tally) needed(alpha float64, exact bool) int {
	// A product that should be whole may have been rounded down.
	const rounding = 1e-9
	if exact {
		return int(alpha*float64(c.orders)+rounding) + 1
	}
	return int(alpha*float64(c.orders+1) + rounding)
}

// result puts the counts of a test into words, intervals apart.
func (t *Test) result(c *tally, exact bool) Result {
	l := t.lay
	df := l.residual()
	ms := t.rss / float64(df)
	r := Result{
		F:   t.ss / float64(l.info.rank) / ms,
		DF1: l.info.rank, DF2: df,
		P:      c.share(c.overall, exact),
		Orders: c.orders, Exact: exact,
		Families: []FamilyResult{},
	}
	if t.plots != nil {
		r.F = t.plots.f
	}
	for i := range l.families {
		f := &l.families[i]
		g := FamilyResult{F: math.NaN(), DF1: len(f.space), P: math.NaN(), Comparisons: []Answer{}}
		if g.DF1 > 0 && t.plots == nil {
			g.F = t.famSS[i] / float64(g.DF1) / ms
			g.P = c.share(c.families[i], exact)
			if f.whole {
				g.P = r.P
			}
		}
		for k := f.from; k < f.to; k++ {
			nan := math.NaN()
			p := Answer{Estimate: nan, SE: nan, T: nan, P: nan, PAdjusted: nan, PComplete: nan, Low: nan, High: nan}
			if l.estimable(k) {
				se := math.Sqrt(ms / l.v[k])
				if t.plots != nil {
					w, b := t.plots.parts[k][0], t.plots.parts[k][1]
					se, p.Between = math.Sqrt(w+b), b/(w+b)
				}
				p.Estimable = true
				p.Estimate, p.SE, p.T = t.scale*t.theta[k], t.scale*se, t.theta[k]/se
				p.P = c.share(c.own[k], exact)
				p.PAdjusted = min(1, float64(f.strata)*c.share(c.adjusted[k], exact))
				p.PComplete = min(1, float64(f.strata)*c.share(c.complete[k], exact))
			}
			g.Comparisons = append(g.Comparisons, p)
		}
		r.Families = append(r.Families, g)
	}
	return r
}
