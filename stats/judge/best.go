package judge

import (
	"math"

	"fairrun/stats/compare"
)

// bestMemory is what the comparisons with the best are worked out in.
type bestMemory struct {
	rivals compare.Rivals
	out    []compare.Lead
}

// leads returns each level that can take part less the best of the others, as compare.Leads does but
// for P; nil if some mean cannot be estimated. Rivals count the levels that can take part. The result
// holds until the next call.
func (j *Reading) leads() []compare.Lead {
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
	r.Diff, r.SE = grown(r.Diff, k*k), grown(r.SE, k*k)
	if j.p.plots != nil {
		r.Lower, r.Upper = 1, 1
	} else {
		r.Lower, r.Upper = j.crit.best(k, df)
	}
	for a, i := range live {
		for b, h := range live {
			r.Diff[a*k+b] = sign * j.v.diff[i*n+h]
			if r.SE[a*k+b] = math.Sqrt(j.p.variance[i*n+h] * j.v.sigma2); j.p.plots != nil && h != i {
				r.SE[a*k+b] *= j.critical(i, h) // the intervals are those of all pairs
			}
		}
	}
	r.Intervals(m.out)
	return m.out
}

// inTerms puts a comparison with the best on the scale of the response and in the terms of the margin.
func (j *Reading) inTerms(b compare.Lead) Interval {
	scaled := b
	if j.q.Lower {
		scaled = b.Lower()
	}
	out := Interval{Estimate: scaled.Estimate, Low: scaled.Low, High: scaled.High}
	if j.q.Terms == compare.InPercent {
		m := compare.PercentOf(j.q.Centre + j.v.mean[j.p.live[b.Rival]])
		out.Estimate, out.Low, out.High = out.Estimate/m, out.Low/m, out.High/m
	}
	out.Word = compare.Judge(out.Low, out.High, j.q.Margin)
	return out
}
