package rehearse

import (
	"math"

	"fairrun/design"
	"fairrun/stats/compare"
)

// judge reads verdicts off estimates, as package verdict does.
type judge struct {
	rule rule
	crit *criticals
	m    *measure
	f    *factor
	p    *precision
	v    *values
	own  []float64 // memory of withBest
}

// rule is one of the ways in which the same estimates are judged.
type rule int

const (
	planned rule = iota // at the level of the look
	plain               // as if the look were the only one
	rules               // how many there are
)

// turn turns to other estimates.
func (j *judge) turn(m *measure, f *factor, p *precision, v *values) {
	j.m, j.f, j.p, j.v = m, f, p, v
}

// by sets the rule and the critical values that go with it.
func (j *judge) by(r rule, c *criticals) { j.rule, j.crit = r, c }

// interval is a comparison on the scale of the margin; NaN where it cannot be made.
type interval struct {
	estimate, low, high float64
	word                compare.Word
}

var unknown = interval{math.NaN(), math.NaN(), math.NaN(), compare.Unresolved}

// clear says whether a word claims a difference from zero.
func (i interval) clear() bool { return i.word != compare.Unresolved && i.word != compare.Equal }

// possible says whether there is noise to judge by and something to compare.
func (j *judge) possible() bool { return j.p.df > 0 && len(j.p.live) > 1 && j.v.sigma2 > 0 }

// alarm says whether any comparison of the family is called different.
func (j *judge) alarm() bool {
	if !j.possible() {
		return false
	}
	switch j.crit.compare {
	case design.CompareBaseline:
		if !j.isLive(j.f.base) {
			return false
		}
		for _, i := range j.p.live {
			if i != j.f.base && j.clear(i, j.f.base) {
				return true
			}
		}
	case design.CompareBest:
		for _, i := range j.withBest() {
			if j.held(i).clear() {
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

// standing says whether any comparison of the family is called different, as one was if before, and whether any is open.
func (j *judge) standing(before bool) (alarm, open bool) {
	alarm, open = before, len(j.p.live) < len(j.f.labels)
	if !j.possible() || j.crit.compare == design.CompareBaseline && !j.isLive(j.f.base) {
		return alarm, true
	}
	hear := func(i interval) {
		alarm = alarm || i.clear()
		open = open || i.word == compare.Unresolved
	}
	switch j.crit.compare {
	case design.CompareBaseline:
		for _, i := range j.p.live {
			if i != j.f.base {
				hear(j.difference(i, j.f.base))
			}
		}
	case design.CompareBest:
		best := j.withBest()
		for _, b := range best {
			hear(j.held(b))
		}
		open = open || best == nil
	default:
		for a, i := range j.p.live {
			for _, k := range j.p.live[:a] {
				hear(j.difference(i, k))
			}
		}
	}
	return alarm, open
}

// clear says whether the difference of levels i and k is clear of zero.
func (j *judge) clear(i, k int) bool {
	if j.m.percent {
		return j.difference(i, k).clear()
	}
	at := i*len(j.v.mean) + k
	if math.IsNaN(j.p.variance[at]) {
		return false
	}
	d, c := j.v.diff[at], j.critical(i, k)
	return d*d > c*c*j.p.variance[at]*j.v.sigma2
}

// critical returns the critical value for level i against level k, which is the baseline if there is one.
func (j *judge) critical(i, k int) float64 {
	df := j.p.between(i, k)
	if j.p.dfs == nil && !math.IsNaN(j.p.common[j.rule]) {
		return j.p.common[j.rule]
	}
	c := 0.0
	if j.crit.compare == design.ComparePairs {
		c = j.crit.pairs(j.p, df)
	} else {
		c = j.crit.against(j.p, k, df)
	}
	j.p.common[j.rule] = c
	return c
}

// rehearsed returns the comparison that is rehearsed.
func (j *judge) rehearsed() interval {
	level, against := j.f.level, j.f.against
	if !j.possible() || !j.isLive(level) {
		return unknown
	}
	switch j.crit.compare {
	case design.CompareBest:
		for a, i := range j.withBest() {
			if j.p.live[a] == level {
				return j.held(i)
			}
		}
		return unknown
	case design.CompareBaseline:
		if !j.isLive(j.f.base) {
			return unknown
		}
		return j.difference(level, against)
	}
	if !j.isLive(against) {
		return unknown
	}
	return j.difference(level, against)
}

func (j *judge) isLive(level int) bool {
	for _, i := range j.p.live {
		if i == level {
			return true
		}
	}
	return false
}

// difference is the interval of level i less level k.
func (j *judge) difference(i, k int) interval {
	at := i*len(j.v.mean) + k
	variance := j.p.variance[at]
	if math.IsNaN(variance) {
		return unknown
	}
	d, v := j.v.diff[at], j.v.sigma2
	c := j.critical(i, k)
	half := c * math.Sqrt(variance*v)
	out := interval{d, d - half, d + half, compare.Unresolved}
	if math.IsInf(c, 1) {
		return out // nothing may be concluded yet
	}
	if j.m.percent {
		if math.IsNaN(j.p.meanVar[k]) {
			return unknown
		}
		out.estimate, out.low, out.high = compare.Percent(d, j.m.centre+j.v.mean[k], variance*v, j.p.meanVar[k]*v, j.p.with[at]*v, c)
	}
	out.word = compare.Judge(out.low, out.high, j.m.margin)
	return out
}

// fromBest is the comparison of a level with the best of the others, larger being better.
type fromBest struct {
	estimate, low, high float64
	rival               int
	clear               bool // by the law of all pairs
}

// withBest returns Hsu's constrained intervals of each level that can take part, as compare.WithBest
// does with the critical values given; nil if some mean cannot be estimated.
func (j *judge) withBest() []fromBest {
	live, n := j.p.live, len(j.v.mean)
	sign := 1.0
	if j.m.lower {
		sign = -1
	}
	for _, i := range live {
		if math.IsNaN(j.p.meanVar[i]) {
			return nil
		}
	}
	out := make([]fromBest, len(live))
	half := func(a, i, k int) float64 {
		return j.own[a] * math.Sqrt(j.p.variance[i*n+k]*j.v.sigma2)
	}
	j.own = grown(j.own, len(live))
	df := j.p.df
	for a, i := range live {
		for _, k := range live[:a] {
			if j.p.dfs != nil && !math.IsNaN(j.p.variance[i*n+k]) {
				df = min(df, j.p.between(i, k))
			}
		}
	}
	pairs := j.crit.pairs(j.p, df)
	candidates := 0
	for a, i := range live {
		j.own[a] = j.crit.against(j.p, i, df)
		high := math.Inf(1)
		rival := -1
		worse, better := false, true // than some other, than every other, by the law of all pairs
		for _, k := range live {
			if k == i {
				continue
			}
			if rival < 0 || sign*j.v.diff[k*n+rival] > 0 {
				rival = k
			}
			high = min(high, sign*j.v.diff[i*n+k]+half(a, i, k))
			reach := pairs * math.Sqrt(j.p.variance[i*n+k]*j.v.sigma2)
			worse = worse || sign*j.v.diff[i*n+k] < -reach
			better = better && sign*j.v.diff[i*n+k] > reach
		}
		out[a] = fromBest{estimate: sign * j.v.diff[i*n+rival], high: max(0, high), rival: rival, clear: worse || better}
		if out[a].high > 0 {
			candidates++
		}
	}
	for a, i := range live {
		if candidates == 1 && out[a].high > 0 {
			continue
		}
		low := math.Inf(1)
		for b, k := range live {
			if b != a && out[b].high > 0 {
				low = min(low, sign*j.v.diff[i*n+k]-half(b, i, k))
			}
		}
		out[a].low = min(0, low)
	}
	return out
}

// held puts a comparison with the best on the scale of the response and of the margin.
func (j *judge) held(b fromBest) interval {
	out := interval{estimate: b.estimate, low: b.low, high: b.high}
	if j.m.lower {
		out.estimate, out.low, out.high = -out.estimate, -out.high, -out.low
	}
	if j.m.percent {
		m := math.Abs(j.m.centre+j.v.mean[b.rival]) / 100
		if !(m > 0) {
			return unknown
		}
		out.estimate, out.low, out.high = out.estimate/m, out.low/m, out.high/m
	}
	out.word = compare.JudgeFromBest(out.low, out.high, j.m.margin, b.clear)
	return out
}
