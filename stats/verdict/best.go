package verdict

import (
	"math"
	"strconv"
	"strings"

	"fairrun/stats/compare"
)

// fromBest compares each level that can take part with the best of the others,
// in the direction in which larger is better; nil when that cannot be said.
func fromBest(f family, y yardstick) []compare.FromBest {
	means := larger(f, y)
	if means == nil {
		return nil
	}
	df := f.df()
	return compare.WithBest(means, f.covariance(), df, y.level(compare.Best{Levels: len(f.live)}, df))
}

// mayBeBest says which of the levels that can take part may be the best; nil when that cannot be said.
func mayBeBest(f family, y yardstick) []bool {
	means := larger(f, y)
	if means == nil {
		return nil
	}
	df := f.df()
	return compare.MayBeBest(means, f.covariance(), df, y.level(compare.Best{Levels: len(f.live)}, df))
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

// withBest compares each level with the best of the others (Hsu).
func withBest(f family, y yardstick) (out compared) {
	df := f.df()
	levels := max(2, len(f.live))
	out.law = compare.Best{Levels: levels}
	out.level = y.atLook(out.law, df)
	pairs := compare.Keep(compare.Pairs{Levels: levels})
	for a, b := range fromBest(f, y) {
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
			se = math.Sqrt(f.between(i, rival).Cov.At(0, 0))
		}
		c.Estimate, c.SE, c.DF, c.T = Number(d), Number(se), Number(df), Number(d/se)
		c.P, c.PAdjusted = Number(single.Adjust(d/se, df)), Number(b.P)
		c.Low, c.High = Number(scaled.Low), Number(scaled.High)
		c.standardise(y.sd, compare.Level(min(pairs.Critical(y.alpha, df), farthest), df))
		c.percentOf(f.all.Value[rival], y.terms)
		if math.IsInf(b.High, 1) && math.IsInf(b.Low, -1) {
			c.openAll()
		}
		low, high, margin := y.onMarginScale(c)
		c.Verdict = compare.JudgeFromBest(low, high, margin, b.Clear)
		out.links = append(out.links, link{len(out.list), i, rival})
		out.list = append(out.list, c)
	}
	return out
}

// percentOf says a constrained interval in per cent of a mean.
func (c *Comparison) percentOf(mean float64, t terms) {
	if t.scale == Log {
		c.ratios()
		return
	}
	m := Number(compare.PercentOf(t.onScale(mean)))
	c.Percent, c.PercentLow, c.PercentHigh = c.Estimate/m, c.Low/m, c.High/m
}

// best returns the set that holds the best level (named with its factor when
// there are several), and for a single factor the smallest level shown to be
// within the margin of the best.
func best(f family, y yardstick) (levels []string, smallest *string) {
	if len(f.live) < 2 {
		return nil, nil
	}
	for a, may := range mayBeBest(f, y) {
		if may {
			name := f.labels[f.live[a]]
			if !f.alone {
				name = f.of.Term() + " " + name
			}
			levels = append(levels, name)
		}
	}
	if !f.alone || f.value == nil || y.margin == nil {
		return levels, nil
	}
	least := math.Inf(1)
	for a, b := range fromBest(f, y) {
		if i := f.live[a]; asGood(f, b, y.terms) && f.value[i] < least {
			least = f.value[i]
			smallest = &f.labels[i]
		}
	}
	return levels, smallest
}

// asGood says whether a level is shown to be no worse than the best by more
// than the margin.
func asGood(f family, b compare.FromBest, t terms) bool {
	c := Comparison{Low: Number(b.Low), High: Number(b.High)}
	c.percentOf(f.all.Value[f.live[b.Rival]], t)
	low, _, margin := t.onMarginScale(c)
	return margin > 0 && low >= -margin
}

// numbers returns the levels as numbers, or nil when one is none.
func numbers(levels []string) []float64 {
	out := make([]float64, len(levels))
	for i, text := range levels {
		v, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil {
			return nil
		}
		out[i] = v
	}
	return out
}
