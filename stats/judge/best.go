package judge

import (
	"math"

	"fairrun/stats/compare"
)

// bestMemory is what the comparisons with the best are worked out in.
type bestMemory struct {
	rivals compare.Rivals
	out    []compare.FromBest
}

// fromBest returns Hsu's constrained intervals of each level that can take part, as compare.WithBest
// does with the critical values given; nil if some mean cannot be estimated. Rivals count the levels that
// can take part. The result holds until the next call.
func (j *Reading) fromBest() []compare.FromBest {
	live, n := j.p.live, len(j.v.mean)
	for _, i := range live {
		if math.IsNaN(j.p.meanVar[i]) {
			return nil
		}
	}
	df := j.p.df
	if j.p.dfs != nil {
		df = compare.FamilyDF(len(live), func(a, b int) (float64, bool) {
			return j.p.between(live[a], live[b]), j.p.Estimable(live[a], live[b])
		})
	}
	sign := 1.0
	if j.q.Lower {
		sign = -1
	}
	m, k := &j.best, len(live)
	m.out = grown(m.out, k)
	r := &m.rivals
	r.Diff, r.SE, r.Critical = grown(r.Diff, k*k), grown(r.SE, k*k), grown(r.Critical, k)
	r.Pairs = j.crit.pairs(j.p, df)
	for a, i := range live {
		r.Critical[a] = j.crit.against(j.p, i, df)
		for b, h := range live {
			r.Diff[a*k+b] = sign * j.v.diff[i*n+h]
			r.SE[a*k+b] = math.Sqrt(j.p.variance[i*n+h] * j.v.sigma2)
		}
	}
	r.Intervals(m.out)
	return m.out
}

// inTerms puts a comparison with the best on the scale of the response and in the terms of the margin.
func (j *Reading) inTerms(b compare.FromBest) Interval {
	scaled := b
	if j.q.Lower {
		scaled = b.Lower()
	}
	out := Interval{Estimate: scaled.Estimate, Low: scaled.Low, High: scaled.High}
	if j.q.Terms == compare.InPercent {
		m := compare.PercentOf(j.q.Centre + j.v.mean[j.p.live[b.Rival]])
		out.Estimate, out.Low, out.High = out.Estimate/m, out.Low/m, out.High/m
	}
	out.Word = compare.JudgeFromBest(out.Low, out.High, j.q.Margin, b.Clear)
	return out
}
