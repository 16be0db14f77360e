package verdict

import (
	"math"
	"strconv"
	"strings"

	"fairrun/stats/compare"
)

// fromBest compares each level that can take part with the best of the others,
// in the direction in which larger is better; nil when that cannot be said.
func (s *subject) fromBest(f family) []compare.FromBest {
	means := s.larger(f)
	if means == nil {
		return nil
	}
	df := f.familyDF()
	return compare.WithBest(means, s.scaledCov(f), df, s.level(compare.Best{Levels: len(f.live)}, df))
}

// mayBeBest says which of the levels that can take part may be the best; nil when that cannot be said.
func (s *subject) mayBeBest(f family) []bool {
	means := s.larger(f)
	if means == nil {
		return nil
	}
	df := f.familyDF()
	return compare.MayBeBest(means, s.scaledCov(f), df, s.level(compare.Best{Levels: len(f.live)}, df))
}

// larger are the means of the levels that can take part, turned so that larger is better; nil when
// there is no noise, no direction or no mean to judge by.
func (s *subject) larger(f family) []float64 {
	if s.m.Better == "" || s.sigma2 == 0 || len(f.live) < 2 {
		return nil
	}
	means := make([]float64, len(f.live))
	for a, i := range f.live {
		if !f.all.Estimable[i] {
			return nil
		}
		means[a] = s.sign() * f.all.Value[i]
	}
	return means
}

// sign is −1 when lower is better.
func (s *subject) sign() float64 {
	if s.m.Better == "lower" {
		return -1
	}
	return 1
}

// withBest fills in the comparison of each level with the best of the others.
func (s *subject) withBest(k int) {
	f := s.families[k]
	df := f.familyDF()
	s.lookAt(compare.Best{Levels: max(2, len(f.live))}, df)
	pairs := compare.Keep(compare.Pairs{Levels: max(2, len(f.live))})
	for a, b := range s.fromBest(f) {
		i, rival := f.live[a], f.live[b.Rival]
		c := blank(f, i, rival)
		c.Against = bestOther
		scaled := b
		if s.sign() < 0 {
			scaled = b.Lower()
		}
		d := scaled.Estimate
		se := math.Abs(b.Estimate / b.T)
		if b.Estimate == 0 {
			se = math.Sqrt(f.means.contrasts([][]float64{difference(len(f.labels), i, rival)}).Cov.At(0, 0))
		}
		c.Estimate, c.SE, c.DF, c.T = Number(d), Number(se), Number(df), Number(d/se)
		c.P, c.PAdjusted = Number(single.Adjust(d/se, df)), Number(b.P)
		c.Low, c.High = Number(scaled.Low), Number(scaled.High)
		g := compare.Standardise(d, se, s.fitted.sd(), df, compare.Level(min(pairs.Critical(s.q.Alpha, df), farthest), df))
		c.G, c.GLow, c.GHigh = Number(g.G), Number(g.Low), Number(g.High)
		s.percentOf(&c, f, rival)
		if math.IsInf(b.High, 1) && math.IsInf(b.Low, -1) {
			c.openAll()
		}
		low, high, margin := s.onMarginScale(c)
		c.Verdict = compare.JudgeFromBest(low, high, margin, b.Clear)
		s.links = append(s.links, link{len(s.out.Comparisons), k, i, rival})
		s.out.Comparisons = append(s.out.Comparisons, c)
	}
	s.further(k, compare.Best{Levels: max(2, len(f.live))})
}

// percentOf says a constrained interval in per cent of the rival's mean.
func (s *subject) percentOf(c *Comparison, f family, rival int) {
	if s.m.Scale == Log {
		c.Percent, c.PercentLow, c.PercentHigh = ratio(c.Estimate), ratio(c.Low), ratio(c.High)
		return
	}
	m := Number(compare.PercentOf(s.onScale(f.all.Value[rival])))
	c.Percent, c.PercentLow, c.PercentHigh = c.Estimate/m, c.Low/m, c.High/m
}

// best fills in the set that holds the best level (named with its factor when
// there are several), and for a single factor the smallest level shown to be
// within the margin of the best.
func (s *subject) best(f family) {
	alone := len(f.factors) == len(s.d.Treatments)
	for a, may := range s.mayBeBest(f) {
		if may {
			name := f.labels[f.live[a]]
			if !alone {
				name = f.name + " " + name
			}
			s.out.Best = append(s.out.Best, name)
		}
	}
	if !alone || f.value == nil || s.m.Margin == nil {
		return
	}
	least := math.Inf(1)
	for a, b := range s.fromBest(f) {
		if i := f.live[a]; s.asGood(f, i, b) && f.value[i] < least {
			least = f.value[i]
			s.out.SmallestGood = &f.labels[i]
		}
	}
}

// asGood says whether level i is shown to be no worse than the best by more
// than the margin.
func (s *subject) asGood(f family, i int, b compare.FromBest) bool {
	c := Comparison{Low: Number(b.Low), High: Number(b.High)}
	s.percentOf(&c, f, f.live[b.Rival])
	low, _, margin := s.onMarginScale(c)
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
