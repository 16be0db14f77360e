package verdict

import (
	"math"
	"slices"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/mixed"
)

var single compare.Single

// bestOther is what a level is compared with when it is compared with the best.
const bestOther = "the best other"

// compared is the comparisons of one family, the part of the answer that it gives.
type compared struct {
	law    compare.Family // that holds them together; nil when there are none
	list   []Comparison
	links  []link
	level  Number        // at this of several looks; unknown for one look
	plots  *plotLaw      // what they are judged by, within whole plots and across; nil: law
	others []Alternative // the same comparisons by other methods
	kenwardRoger
}

// link says which means a comparison compares, where it can be made.
type link struct {
	comparison int // of the family's list
	i, j       int // means of the family: i less j
}

// comparisons makes the comparisons of a family that are asked for, held together by its law.
func comparisons(f family, q *Request, law compare.Family, y yardstick) (c compared, said remarks) {
	c.level = Unknown
	if len(f.live) < 2 {
		return c, nil
	}
	switch c.law = law; q.Compare {
	case Pairs:
		c.level = y.atLook(c.law, f.df())
		return pairs(f, c, y)
	case Baseline:
		return againstBaseline(f, c, y)
	default:
		return withBest(f, y), nil
	}
}

// familyLaw is the law that holds the comparisons of a family together; nil where there are none.
func familyLaw(f family, q *Request, y yardstick) compare.Family {
	switch {
	case len(f.live) < 2:
		return nil
	case f.noise != nil && (q.Compare != Baseline || slices.Contains(f.live, f.base)):
		return f.noise.law(q.Compare, len(f.live))
	case q.Compare == Pairs:
		return compare.Keep(compare.Pairs{Levels: len(f.live)})
	case q.Compare == Best:
		return compare.Best{Levels: len(f.live)}
	case !slices.Contains(f.live, f.base):
		return nil
	}
	var rows [][]float64
	for _, i := range f.live {
		if row := difference(len(f.labels), i, f.base); i != f.base && f.means.contrasts([][]float64{row}).Estimable[0] {
			rows = append(rows, row)
		}
	}
	var law compare.Family = single
	if y.noise && len(rows) > 0 {
		law = compare.Together(compare.Correlation(f.means.contrasts(rows).Cov), q.OneSided)
	}
	return compare.Keep(law)
}

// pairs compares every level with every earlier one (Tukey–Kramer).
func pairs(f family, c compared, y yardstick) (_ compared, said remarks) {
	c.plots = newPlotLaw(f, f.allPairs(), false, c.law, y)
	for _, pair := range f.allPairs() {
		said = append(said, c.add(f, pair[0], pair[1], y)...)
	}
	return c, said
}

// againstBaseline compares every level with the baseline (Dunnett).
func againstBaseline(f family, c compared, y yardstick) (_ compared, said remarks) {
	if !slices.Contains(f.live, f.base) {
		said.warn("baseline", "the baseline %q %s, so nothing can be compared with it", f.labels[f.base], f.missing(f.base))
		return c, said
	}
	c.level = y.atLook(c.law, f.df())
	c.plots = newPlotLaw(f, f.pairsWith(f.base), compare.OneSided(c.law), c.law, y)
	for _, i := range f.live {
		if i != f.base {
			said = append(said, c.add(f, i, f.base, y)...)
		}
	}
	return c, said
}

// blank is a comparison of which nothing is known yet.
func blank(f family, i, j int) Comparison {
	u := Unknown
	return Comparison{Factors: f.of, Level: f.labels[i], Against: f.labels[j],
		Estimate: u, SE: u, DF: u, T: u, P: u, PAdjusted: u, Low: u, High: u,
		Percent: u, PercentLow: u, PercentHigh: u, G: u, GLow: u, GHigh: u,
		PRandom: u, LowRandom: u, HighRandom: u, Verdict: compare.Unresolved}
}

// add compares level i with level j of a family.
func (c *compared) add(f family, i, j int, y yardstick) (said remarks) {
	made := blank(f, i, j)
	e := f.between(i, j)
	if !e.Estimable[0] {
		said.warn("comparison", "%s %q and %q cannot be compared: their difference is mixed up with other terms in these runs", f.of.Term(), made.Level, made.Against)
		c.list = append(c.list, made)
		return said
	}
	made.estimate(f, i, j, e, c.law, c.plots, y)
	if c.plots != nil {
		other := blank(f, i, j)
		other.estimate(f, i, j, e, c.law, nil, y)
		c.kenwardRoger.add(made, other)
	}
	c.links = append(c.links, link{len(c.list), i, j})
	c.list = append(c.list, made)
	return nil
}

// estimate fills in the comparison of level i with level j, whose difference is
// the one estimate in e. It is judged by plots where that is not nil.
func (c *Comparison) estimate(f family, i, j int, e *mixed.Estimates, law compare.Family, plots *plotLaw, y yardstick) {
	d, df := e.Value[0], e.DF[0]
	crit := y.critical(law, df)
	c.Estimate = Number(d)
	if y.noise {
		se := math.Sqrt(e.Cov.At(0, 0))
		c.SE, c.DF, c.T = Number(se), Number(df), Number(d/se)
		c.P, c.PAdjusted = Number(single.Adjust(d/se, df)), y.adjusted(law, d/se, df)
		if compare.OneSided(law) {
			t := y.sign() * d / se // larger is better
			c.P, c.PAdjusted = Number(upper(t, df)), y.adjusted(law, t, df)
		}
		if plots != nil {
			crit = plots.judge(c, i, j, compare.OneSided(law), y.sign())
			c.PAdjusted = Number(min(1, float64(y.shares)*float64(c.PAdjusted)))
			se = float64(c.SE)
		}
		c.Low, c.High = Number(d-crit*se), Number(d+crit*se)
		c.standardise(f.effect(i, j, y), compare.Level(min(crit, farthest), df))
	}
	c.percent(f, i, j, crit, plots, y)
	if math.IsInf(crit, 1) {
		c.openAll()
	}
	if compare.OneSided(law) && y.noise {
		c.openEnd(y.sign())
	}
	c.Verdict = y.word(*c)
}

// upper is the chance that Student's t exceeds the one given.
func upper(t, df float64) float64 { return law.T{DF: df}.Survival(t) }

// effect says how a difference of means i and j is put in units of the noise from run to run.
type effect struct {
	unit *compare.Spread
	own  bool // the noise is what the difference is judged by, too
	open bool // its variance leans on the noise in part: no interval is known
}

// effect of the difference of means i and j of a family.
func (f family) effect(i, j int, y yardstick) effect {
	out := effect{unit: y.unit, own: !f.means.apart}
	if f.means.strata == nil {
		return out
	}
	const rounding = 1e-6
	v, ok := f.means.strata(difference(len(f.labels), i, j))
	out.own = ok && v.Share > 1-rounding
	out.open = !out.own && !(ok && v.Share < rounding)
	return out
}

// standardise fills in the difference in units of the noise.
func (c *Comparison) standardise(e effect, level float64) {
	g := e.of(c, level)
	c.G, c.GLow, c.GHigh = Number(g.G), Number(g.Low), Number(g.High)
}

// of is Hedges' g of a comparison, at a level.
func (e effect) of(c *Comparison, level float64) compare.HedgesG {
	d, se, df := float64(c.Estimate), float64(c.SE), float64(c.DF)
	if e.own {
		return compare.Standardise(d, se, e.unit.SD, df, level)
	}
	if e.open {
		g := e.unit.G(d)
		return compare.HedgesG{G: g, Low: math.NaN(), High: math.NaN()}
	}
	return e.unit.Standardise(d, se, df, level)
}

// farthest stands for a critical value that is infinite.
const farthest = 100

// openEnd takes away the end of a one-sided comparison's intervals that says
// nothing: how much better a level may be at the most. The sign is −1 where lower is better.
func (c *Comparison) openEnd(sign float64) {
	inf := Number(math.Inf(1))
	if sign > 0 {
		c.High, c.PercentHigh, c.GHigh = inf, inf, inf
		return
	}
	c.Low, c.PercentLow, c.GLow = -inf, -inf, -inf
}

// percent fills in the difference in per cent of the level it is taken from.
func (c *Comparison) percent(f family, i, j int, crit float64, plots *plotLaw, y yardstick) {
	if y.scale == Log {
		c.ratios()
		return
	}
	if !f.all.Estimable[j] {
		return
	}
	e := f.means.contrasts([][]float64{difference(len(f.labels), i, j), unit(len(f.labels), j)})
	difference, mean, both := e.Cov.At(0, 0), e.Cov.At(1, 1), e.Cov.At(0, 1)
	if plots != nil {
		v := plots.Cov
		difference, mean, both = plots.SE(i, j)*plots.SE(i, j), v.At(j, j), v.At(i, j)-v.At(j, j)
	}
	p, low, high := compare.Percent(float64(c.Estimate), y.centre+e.Value[1], difference, mean, both, crit)
	c.Percent, c.PercentLow, c.PercentHigh = Number(p), Number(low), Number(high)
}

// ratios turns the difference of logarithms into per cent.
func (c *Comparison) ratios() {
	ratio := func(d Number) Number { return Number(100 * math.Expm1(float64(d))) }
	c.Percent, c.PercentLow, c.PercentHigh = ratio(c.Estimate), ratio(c.Low), ratio(c.High)
}
