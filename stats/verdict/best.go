package verdict

import (
	"math"

	"fairrun/stats/compare"
)

// leads compares each level that can take part with the best of the others,
// in the direction in which larger is better; nil when that cannot be said.
func leads(f family, y yardstick) []compare.Lead {
	means := larger(f, y)
	if means == nil {
		return nil
	}
	df := f.df()
	return compare.Leads(means, f.covariance(), df, y.level(compare.Best{Levels: len(f.live)}, df))
}

// larger are the means of the levels that can take part, turned so that larger is better; nil when
// there is no noise, no direction or no mean to judge by.
func larger(f family, y yardstick) []float64 {
	if y.better == "" || !y.noise || len(f.live) < 2 {
		return nil
	}
	means := make([]float64, len(f.live))
	for a, i := range f.live {
		if !f.all.Estimable[i] {
			return nil
		}
		means[a] = y.sign() * f.all.Value[i]
	}
	return means
}

// withBest compares each level with the best of the others: word, p, sizes and the list of the
// possible best are all read off one interval.
func withBest(f family, y yardstick) (out compared) {
	df := f.df()
	levels := max(2, len(f.live))
	out.law = compare.Best{Levels: levels}
	out.level = y.atLook(out.law, df)
	made := leads(f, y)
	plain := made
	if made != nil {
		if out.plots = newPlotLaw(f, f.allPairs(), false, compare.Pairs{Levels: levels}, y); out.plots != nil {
			made = out.plots.leadsByPairs(f, larger(f, y))
		}
	}
	for a, b := range made {
		i, rival := f.live[a], f.live[b.Rival]
		c := blank(f, i, rival)
		c.Against = bestOther
		scaled := b
		if y.sign() < 0 {
			scaled = b.Lower()
		}
		d := scaled.Estimate
		se := math.Abs(b.Estimate / b.T)
		if b.Estimate == 0 {
			if se = math.Sqrt(f.between(i, rival).Cov.At(0, 0)); out.plots != nil {
				se = out.plots.SE(i, rival)
			}
		}
		c.Estimate, c.SE, c.DF, c.T = Number(d), Number(se), Number(df), Number(d/se)
		c.P, c.PAdjusted = Number(single.Adjust(d/se, df)), Number(min(1, float64(y.shares)*b.P))
		if out.plots != nil {
			c.P = Number(out.plots.Alone(out.plots.Contrast(i, rival), d/se))
		}
		c.Low, c.High = Number(scaled.Low), Number(scaled.High)
		c.standardiseBetween(f.effect(i, rival, y))
		c.percentOf(f.all.Value[rival], y.terms)
		if math.IsInf(b.High, 1) && math.IsInf(b.Low, -1) {
			c.openAll()
		}
		low, high, margin := y.onMarginScale(c)
		c.Verdict = compare.Judge(low, high, margin)
		out.links = append(out.links, link{len(out.list), i, rival})
		out.list = append(out.list, c)
		if out.plots != nil {
			other := plain[a]
			if y.sign() < 0 {
				other = other.Lower()
			}
			out.kenwardRoger.add(c, Comparison{PAdjusted: Number(plain[a].P), Low: Number(other.Low), High: Number(other.High)})
		}
	}
	if len(out.list) > 0 {
		out.others = append(out.others, edwardsHsu(f, out.list, y))
	}
	return out
}

// edwardsHsu judges the comparisons with the best as Edwards and Hsu do, see [compare.EdwardsHsu].
func edwardsHsu(f family, made []Comparison, y yardstick) Alternative {
	df := f.df()
	a := Alternative{Name: "with the best (Edwards & Hsu 1983)", Statistic: Unknown, DF1: Unknown, DF2: Number(df), P: Unknown, Survives: true}
	for k, r := range compare.EdwardsHsu(larger(f, y), f.covariance(), df, y.level(compare.Best{Levels: len(f.live)}, df)) {
		if y.sign() < 0 {
			r.Low, r.High = -r.High, -r.Low
		}
		c := made[k]
		a.Intervals = append(a.Intervals, AlternativeInterval{c.Factors, c.Level, c.Against, Unknown, Number(r.Low), Number(r.High)})
		a.Survives = a.Survives && (r.Low > 0 || r.High < 0) == c.Verdict.Differs()
	}
	return a
}

// standardiseBetween fills in Hedges' g, each end at the level that its own end of the interval has.
func (c *Comparison) standardiseBetween(e effect) {
	at := func(distance Number) compare.HedgesG {
		x := min(math.Abs(float64(distance/c.SE)), farthest)
		return e.of(c, compare.Level(x, float64(c.DF)))
	}
	low, high := at(c.Estimate-c.Low), at(c.High-c.Estimate)
	c.G, c.GLow, c.GHigh = Number(low.G), Number(low.Low), Number(high.High)
}

// percentOf says an interval in per cent of a mean.
func (c *Comparison) percentOf(mean float64, t terms) {
	if t.scale == Log {
		c.ratios()
		return
	}
	m := Number(compare.PercentOf(t.onScale(mean)))
	c.Percent, c.PercentLow, c.PercentHigh = c.Estimate/m, c.Low/m, c.High/m
}
