package verdict

import (
	"math"

	"fairrun/stats/compare"
)

// trended makes the trends over the levels of a family that are numbers, as part of the family: no further chance of a
// false alarm comes with them.
//
// A contrast is a sum of differences. Where all differences that are compared lie within their intervals, a
// contrast lies within the sum of theirs, each as often as it is taken; for all pairs of equally precise means that is
// half the sum of the weights' magnitudes times the interval of a pair (Tukey 1953; Miller 1981, Simultaneous
// Statistical Inference, 2.2). So comparisons keep their intervals, and a trend is called only where some of them is.
//
// Comparisons that are read on one side, and those with the best, bound no contrast on both: beside them trends
// are a family of their own.
func trended(f family, q *Request, c compared, aside compare.Family, y yardstick) []Contrast {
	list := trends(f)
	if c.law == nil || !q.boundsTrends() {
		return contrasts(f, list, aside, y)
	}
	if len(list) == 0 || len(f.live) < 2 {
		return nil
	}
	e := f.means.contrasts(weights(list))
	out := make([]Contrast, len(list))
	for i, w := range list {
		out[i] = contrast(f, w, e, i, single, y)
		if !y.noise || !e.Estimable[i] {
			continue
		}
		unit, df := f.throughComparisons(w.weights, c, q.Compare == Baseline)
		if math.IsNaN(unit) {
			out[i].PAdjusted, out[i].Low, out[i].High, out[i].Verdict = Unknown, Unknown, Unknown, compare.Unresolved
			continue
		}
		out[i].judge(c.law, unit, df, w.margin, y)
	}
	return out
}

// boundsTrends reports whether the comparisons asked for bound trends over their levels.
func (q *Request) boundsTrends() bool { return q.Compare != Best && !q.OneSided }

// throughComparisons returns the sum of the standard errors of the comparisons that make up a contrast, and the fewest degrees
// of freedom among them; NaN where one of them cannot be made.
func (f family) throughComparisons(weights []float64, c compared, baseline bool) (unit, df float64) {
	left := append([]float64{}, weights...)
	df = math.Inf(1)
	take := func(i, j int, weight float64) {
		left[i] -= weight
		left[j] += weight
		for _, l := range c.links {
			if l.i == i && l.j == j || l.i == j && l.j == i {
				made := c.list[l.comparison]
				unit += math.Abs(weight) * float64(made.SE)
				df = min(df, float64(made.DF))
				return
			}
		}
		unit = math.NaN()
	}
	if baseline {
		for _, i := range f.live {
			if i != f.base {
				take(i, f.base, left[i])
			}
		}
		return unit, df
	}
	// What the lowest levels lack, the next ones above or below them have.
	for range weights {
		plus, minus := -1, -1
		for _, i := range f.live {
			if plus < 0 && left[i] > rounding(weights) {
				plus = i
			}
			if minus < 0 && left[i] < -rounding(weights) {
				minus = i
			}
		}
		if plus < 0 || minus < 0 {
			break
		}
		take(plus, minus, min(left[plus], -left[minus]))
	}
	return unit, df
}

// rounding is what is left of weights by rounding alone.
func rounding(weights []float64) float64 {
	most := 0.0
	for _, w := range weights {
		most = max(most, math.Abs(w))
	}
	return 1e-12 * most
}
