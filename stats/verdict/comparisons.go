package verdict

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/mixed"
)

var single compare.Single

// bestOther is what a level is held against when compared with the best.
const bestOther = "the best other"

// pairs compares every level with every earlier one (Tukey–Kramer).
func (s *subject) pairs(k int) {
	f := s.families[k]
	fam := compare.Keep(compare.Pairs{Levels: len(f.live)})
	s.lookAt(fam, f.familyDF())
	for a, i := range f.live {
		for _, j := range f.live[a+1:] {
			s.add(k, j, i, fam)
		}
	}
	s.further(k, fam)
}

// againstBaseline compares every level with the baseline (Dunnett).
func (s *subject) againstBaseline(k int) {
	f := s.families[k]
	if f.n[f.base] == 0 {
		s.warn("baseline", "the baseline %q has no good run, so nothing can be compared with it", f.labels[f.base])
		return
	}
	var rows [][]float64
	var levels []int
	for _, i := range f.live {
		if i == f.base {
			continue
		}
		row := difference(len(f.labels), i, f.base)
		if f.means.contrasts([][]float64{row}).Estimable[0] {
			rows = append(rows, row)
		}
		levels = append(levels, i)
	}
	var fam compare.Family = single
	if s.sigma2 > 0 && len(rows) > 0 {
		fam = compare.Together(compare.Correlation(f.means.contrasts(rows).Cov), s.q.OneSided)
	}
	fam = compare.Keep(fam)
	s.lookAt(fam, f.familyDF())
	for _, i := range levels {
		s.add(k, i, f.base, fam)
	}
	s.further(k, fam)
}

// difference is the contrast "mean i minus mean j".
func difference(n, i, j int) []float64 {
	row := make([]float64, n)
	row[i], row[j] = 1, -1
	return row
}

// blank is a comparison of which nothing is known yet.
func blank(f family, i, j int) Comparison {
	u := Unknown
	return Comparison{Factor: f.name, Level: f.labels[i], Against: f.labels[j],
		Estimate: u, SE: u, DF: u, T: u, P: u, PAdjusted: u, Low: u, High: u,
		Percent: u, PercentLow: u, PercentHigh: u, G: u, GLow: u, GHigh: u,
		PRandom: u, LowRandom: u, HighRandom: u, Verdict: compare.Unresolved}
}

// add compares level i with level j of a family.
func (s *subject) add(k, i, j int, fam compare.Family) {
	f := s.families[k]
	c := blank(f, i, j)
	row := difference(len(f.labels), i, j)
	e := f.means.contrasts([][]float64{row})
	if !e.Estimable[0] {
		s.warn("comparison", "%s %q and %q cannot be compared: their difference is mixed up with other terms in these runs", f.name, c.Level, c.Against)
		s.out.Comparisons = append(s.out.Comparisons, c)
		return
	}
	s.estimate(&c, f, i, j, e, fam)
	s.lean(f, row, c, fam)
	s.links = append(s.links, link{len(s.out.Comparisons), k, i, j})
	s.out.Comparisons = append(s.out.Comparisons, c)
}

// estimate fills in the comparison of level i with level j, whose difference is
// the one estimate in e.
func (s *subject) estimate(c *Comparison, f family, i, j int, e *mixed.Estimates, fam compare.Family) {
	d, df := e.Value[0], e.DF[0]
	crit := s.critical(fam, df)
	c.Estimate = Number(d)
	if s.sigma2 > 0 {
		se := math.Sqrt(e.Cov.At(0, 0))
		c.SE, c.DF, c.T = Number(se), Number(df), Number(d/se)
		c.P, c.PAdjusted = Number(single.Adjust(d/se, df)), Number(fam.Adjust(d/se, df))
		if oneSided(fam) {
			t := s.sign() * d / se // larger is better
			c.P, c.PAdjusted = Number(law.T{DF: df}.Survival(t)), Number(fam.Adjust(t, df))
		}
		c.Low, c.High = Number(d-crit*se), Number(d+crit*se)
		g := compare.Standardise(d, se, s.fitted.sd(), df, compare.Level(min(crit, farthest), df))
		c.G, c.GLow, c.GHigh = Number(g.G), Number(g.Low), Number(g.High)
	}
	s.percent(c, f, i, j, crit)
	if math.IsInf(crit, 1) {
		c.openAll()
	}
	if oneSided(fam) && s.sigma2 > 0 {
		s.openEnd(c)
	}
	c.Verdict = s.word(*c)
}

// farthest stands for a critical value that is infinite.
const farthest = 100

// oneSided says whether a family asks only which levels are better.
func oneSided(fam compare.Family) bool {
	if kept, ok := fam.(compare.Kept); ok {
		fam = kept.Family
	}
	joint, ok := fam.(compare.Joint)
	return ok && joint.OneSided
}

// openEnd takes away the end of a one-sided comparison's intervals that says
// nothing: how much better a level may be at the most.
func (s *subject) openEnd(c *Comparison) {
	inf := Number(math.Inf(1))
	if s.sign() > 0 {
		c.High, c.PercentHigh, c.GHigh = inf, inf, inf
		return
	}
	c.Low, c.PercentLow, c.GLow = -inf, -inf, -inf
}

// percent fills in the difference in per cent of the level it is held against.
func (s *subject) percent(c *Comparison, f family, i, j int, crit float64) {
	if s.m.Scale == Log {
		c.Percent, c.PercentLow, c.PercentHigh = ratio(c.Estimate), ratio(c.Low), ratio(c.High)
		return
	}
	if !f.all.Estimable[j] {
		return
	}
	e := f.means.contrasts([][]float64{difference(len(f.labels), i, j), unit(len(f.labels), j)})
	p, low, high := compare.Percent(float64(c.Estimate), s.centre+e.Value[1],
		e.Cov.At(0, 0), e.Cov.At(1, 1), e.Cov.At(0, 1), crit)
	c.Percent, c.PercentLow, c.PercentHigh = Number(p), Number(low), Number(high)
}

// ratio turns a difference of logarithms into per cent.
func ratio(d Number) Number { return Number(100 * math.Expm1(float64(d))) }

func unit(n, i int) []float64 {
	row := make([]float64, n)
	row[i] = 1
	return row
}

// word reads the verdict off the interval, on the scale on which the margin is
// stated.
func (s *subject) word(c Comparison) compare.Word {
	low, high, margin := s.onMarginScale(c)
	return compare.Judge(low, high, margin)
}

// onMarginScale returns a comparison's interval and the margin in the same terms.
func (s *subject) onMarginScale(c Comparison) (low, high, margin float64) {
	low, high = float64(c.Low), float64(c.High)
	if s.m.Margin == nil {
		return low, high, math.NaN()
	}
	if s.terms() == compare.InPercent {
		low, high = float64(c.PercentLow), float64(c.PercentHigh)
	}
	return low, high, s.terms().Margin(s.m.Margin.Value)
}

// terms are those in which differences are compared with the margin, if there is one.
func (s *subject) terms() compare.Terms {
	return compare.TermsOf(s.m.Scale == Log, s.m.Margin != nil && s.m.Margin.Relative)
}

// scaledCov is the covariance matrix of the means that can take part, on the
// scale of the analysis.
func (s *subject) scaledCov(f family) *mat.SymDense {
	c := mat.NewSymDense(len(f.live), nil)
	for a, i := range f.live {
		for b := a; b < len(f.live); b++ {
			c.SetSym(a, b, f.all.Cov.At(i, f.live[b]))
		}
	}
	return c
}
