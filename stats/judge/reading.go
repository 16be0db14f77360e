package judge

import (
	"math"

	"fairrun/stats/compare"
)

// Reading reads words off the estimates of a factor for a response, as package verdict does. Its
// memory is used again.
type Reading struct {
	crit *Criticals
	q    *Question
	f    *Factor
	p    *Precision
	v    *Estimates
	best bestMemory
}

// Turn turns to other estimates, of factor f and of the response that q asks about.
func (j *Reading) Turn(q *Question, f *Factor, p *Precision, v *Estimates) {
	j.q, j.f, j.p, j.v = q, f, p, v
}

// By sets the critical values to judge by.
func (j *Reading) By(c *Criticals) { j.crit = c }

// possible reports whether there is noise to judge by and something to compare.
func (j *Reading) possible() bool {
	return j.p.df > 0 && len(j.p.live) > 1 && j.v.sigma2 > 0 &&
		(j.crit.kind != compare.KindBaseline || j.isLive(j.f.Baseline))
}

// Differs reports whether any comparison of the family is called different.
func (j *Reading) Differs() bool {
	if !j.possible() {
		return false
	}
	switch j.crit.kind {
	case compare.KindBaseline:
		for _, i := range j.p.live {
			if i != j.f.Baseline && j.clear(i, j.f.Baseline) {
				return true
			}
		}
	case compare.KindBest:
		for _, b := range j.leads() {
			if j.inTerms(b).Word.Differs() {
				return true
			}
		}
	default:
		for a, i := range j.p.live {
			for _, k := range j.p.live[:a] {
				if j.clear(i, k) {
					return true
				}
			}
		}
	}
	return false
}

// Standing reports whether any comparison of the family is called different, and whether any is open.
func (j *Reading) Standing() (differs, open bool) {
	if open = len(j.p.live) < j.f.Levels; !j.possible() {
		return false, true
	}
	hear := func(i Interval) {
		differs = differs || i.Word.Differs()
		open = open || i.Word == compare.Unresolved
	}
	switch j.crit.kind {
	case compare.KindBaseline:
		for _, i := range j.p.live {
			if i != j.f.Baseline {
				hear(j.difference(i, j.f.Baseline))
			}
		}
	case compare.KindBest:
		best := j.leads()
		for _, b := range best {
			hear(j.inTerms(b))
		}
		open = open || best == nil
	default:
		for a, i := range j.p.live {
			for _, k := range j.p.live[:a] {
				hear(j.difference(i, k))
			}
		}
	}
	return differs, open
}

// Comparison returns the comparison of a level with another: with the baseline or, where the family is that with the
// best, with the best other, whatever against is.
func (j *Reading) Comparison(level, against int) Interval {
	if !j.possible() || !j.isLive(level) {
		return Unknown
	}
	if j.crit.kind == compare.KindBest {
		for a, b := range j.leads() {
			if j.p.live[a] == level {
				return j.inTerms(b)
			}
		}
		return Unknown
	}
	if !j.isLive(against) {
		return Unknown
	}
	return j.difference(level, against)
}

func (j *Reading) isLive(level int) bool {
	for _, i := range j.p.live {
		if i == level {
			return true
		}
	}
	return false
}

// clear reports whether the difference of levels i and k is clear of zero.
func (j *Reading) clear(i, k int) bool {
	if j.q.Terms == compare.InPercent {
		return j.difference(i, k).Word.Differs()
	}
	at := i*len(j.v.mean) + k
	if math.IsNaN(j.p.variance[at]) {
		return false
	}
	d, c := j.v.diff[at], j.critical(i, k)
	return d*d > c*c*j.p.variance[at]*j.v.sigma2
}

// critical returns the critical value for level i against level k, which is the baseline if there is one.
func (j *Reading) critical(i, k int) float64 {
	if j.p.plots != nil {
		return j.plotCriticals(k)[j.p.plots.Contrast(i, k).In]
	}
	if j.p.dfs != nil {
		return j.ofFamily(k, j.p.between(i, k))
	}
	for a := range j.p.common {
		known := &j.p.common[a]
		if known.of == j.crit {
			return known.value
		}
		if known.of == nil {
			*known = common{j.crit, j.ofFamily(k, j.p.df)}
			return known.value
		}
	}
	return j.ofFamily(k, j.p.df)
}

// ofFamily returns the critical value of the family, with the baseline k if it has one.
func (j *Reading) ofFamily(k int, df float64) float64 {
	if j.crit.kind == compare.KindPairs {
		return j.crit.pairs(j.p, df)
	}
	return j.crit.against(j.p, k, df)
}

// difference is the interval of level i less level k.
func (j *Reading) difference(i, k int) Interval {
	at := i*len(j.v.mean) + k
	variance := j.p.variance[at]
	if math.IsNaN(variance) {
		return Unknown
	}
	d, v := j.v.diff[at], j.v.sigma2
	c := j.critical(i, k)
	half := c * math.Sqrt(variance*v)
	out := Interval{d, d - half, d + half, compare.Unresolved}
	if math.IsInf(c, 1) {
		return out // nothing may be concluded yet
	}
	if j.q.Terms == compare.InPercent {
		if math.IsNaN(j.p.meanVar[k]) {
			return Unknown
		}
		out.Estimate, out.Low, out.High = compare.Percent(d, j.q.Centre+j.v.mean[k], variance*v, j.p.meanVar[k]*v, j.p.with[at]*v, c)
	}
	out.Word = compare.Judge(out.Low, out.High, j.q.Margin)
	return out
}
