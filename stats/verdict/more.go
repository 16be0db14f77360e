package verdict

import (
	"cmp"
	"math"
	"slices"

	"fairrun/stats/compare"
	"fairrun/stats/power"
)

// NoiseConfidence is that of the limit at which the noise is taken when further
// replicates are counted (Browne 1995, Statistics in Medicine 14).
const NoiseConfidence = 0.8

// mostBlocks bounds the search for further replicates.
const mostBlocks = 1000

// more returns how many further replicates of each treatment it takes until
// the verdict is, with the power asked for, no longer unresolved, whatever the
// true difference, given the precision reached so far. The noise is taken at the
// limit that it stays under with confidence [NoiseConfidence]: taken as measured,
// it would give the power half of the time only. Of a comparison read on one side, which
// cannot settle that there is no difference, it is until a true difference as
// large as the margin is found. It is nil without a margin, or when no affordable
// number would do.
func (s *subject) more(c Comparison, f family, fam compare.Family) *int {
	margin := s.marginAgainst(c, f)
	if c.Verdict != compare.Unresolved || !(margin > 0) || !c.SE.Known() {
		return nil
	}
	if _, random := s.fitted.(reml); random && (len(s.d.Interplay) > 0 || s.q.Growth == nil) {
		return nil // more runs of the same units are not what it takes
	}
	sd := math.Sqrt(s.sigma2)
	now := power.Precision{SE: float64(c.SE) / sd * math.Sqrt(s.inflation()), DF: float64(c.DF)}
	grow, replicates := s.growth(f, now)
	ask := power.Comparison{Family: fam, Alpha: s.q.Alpha}
	target := power.Target{Goal: power.Settle, Margin: margin, Noise: power.Noise{SD: power.Noise{SD: sd, DF: float64(c.DF)}.Upper(NoiseConfidence)}, Power: s.q.Power}
	if _, best := fam.(compare.Best); best || oneSided(fam) {
		target.Goal, ask.Family = power.Find, compare.Best{Levels: len(f.live)}
	}
	key := asked{f.name, target}
	n, known := bracketed(s.asked[key], now.SE)
	if !known {
		if answer, err := ask.Needed(target, grow, mostBlocks); err == nil {
			n = int(math.Ceil(float64(max(1, answer.N))*replicates - 1e-9))
		}
		if n*s.treatments() > power.Affordable(s.fit.N) {
			n = 0
		}
		if s.asked == nil {
			s.asked = map[asked][]told{}
		}
		s.asked[key] = append(s.asked[key], told{now.SE, n})
	}
	if n == 0 {
		return nil
	}
	return &n
}

// growth is how the precision of a comparison grows, and by how many replicates a step: by
// blocks where the request says how, otherwise run by run at each level.
func (s *subject) growth(f family, now power.Precision) (by power.Growth, replicates float64) {
	if s.q.Growth != nil {
		return s.q.Growth(f.name, len(f.live), now)
	}
	d := power.Design{Treatments: s.treatments(), Blocks: 1, Replicates: 1, Compared: len(f.live), Efficiency: 1 / s.inflation()}
	return d.MoreReplicates(now), 1
}

// further fills in how many more the comparisons of a family need: the least and the most
// precise first, since those between need what both do if that is the same.
func (s *subject) further(k int, fam compare.Family) {
	var of []int
	for _, l := range s.links {
		if l.family == k {
			of = append(of, l.comparison)
		}
	}
	se := func(i int) float64 { return float64(s.out.Comparisons[i].SE) }
	slices.SortStableFunc(of, func(a, b int) int { return cmp.Compare(se(a), se(b)) })
	for first, last := 0, len(of)-1; first <= last; first, last = first+1, last-1 {
		for _, i := range []int{of[first], of[last]} {
			c := &s.out.Comparisons[i]
			c.More = s.more(*c, s.families[k], fam)
		}
	}
}

// asked is a question of how many more that comparisons alike have in common.
type asked struct {
	family string
	target power.Target
}

// told is the answer for a standard error; n = 0: no affordable number.
type told struct {
	se float64
	n  int
}

// bracketed returns the answer that standard errors at most and at least as large have in
// common, since the number grows with the standard error; equal but for rounding is equal.
func bracketed(answers []told, se float64) (n int, known bool) {
	const rounding = 1e-7
	for _, low := range answers {
		for _, high := range answers {
			if low.n == high.n && low.se <= se*(1+rounding) && se <= high.se*(1+rounding) {
				return low.n, true
			}
		}
	}
	return 0, false
}

// marginAgainst is the margin of a comparison on the scale of the analysis.
func (s *subject) marginAgainst(c Comparison, f family) float64 {
	m := s.m.Margin
	if m == nil {
		return math.NaN()
	}
	if s.terms() != compare.InPercent {
		return s.terms().Margin(m.Value)
	}
	j := index(f.labels, c.Against)
	if j < 0 {
		return math.NaN()
	}
	return m.Value * math.Abs(s.onScale(f.all.Value[j]))
}

// treatments counts the combinations of levels that are run.
func (s *subject) treatments() int {
	if s.q.Chosen != nil {
		return len(s.q.Chosen)
	}
	return max(2, combinations(s.d.Treatments))
}
