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

// replication is what the number of further replicates depends on beside the comparison itself.
type replication struct {
	power      float64 // asked for
	growth     Growth  // nil: run by run at each level
	treatments int     // combinations of levels that are run
	runs       int     // so far
	variance   float64 // of the residuals
	useless    bool    // more runs of the same specimens are not what it takes
}

// replicating says what further replicates of a fitted model do.
func replicating(d *Data, q *Request, f *fit) replication {
	r := replication{power: q.Power, growth: q.Growth, treatments: max(2, combinations(d.Treatments)), runs: f.squares.N, variance: f.variance}
	if q.Chosen != nil {
		r.treatments = len(q.Chosen)
	}
	r.useless = f.cells != nil && q.Growth == nil || f.isRandom() && (len(f.interplay) > 0 || q.Growth == nil)
	return r
}

// needed fills in how many more the comparisons of a family need: the least and the most
// precise first, since those between need what both do if that is the same.
func (r replication) needed(f family, c compared, y yardstick) {
	var of []int
	for _, l := range c.links {
		of = append(of, l.comparison)
	}
	se := func(i int) float64 { return float64(c.list[i].SE) }
	slices.SortStableFunc(of, func(a, b int) int { return cmp.Compare(se(a), se(b)) })
	known := map[power.Target][]replicatesAt{}
	for first, last := 0, len(of)-1; first <= last; first, last = first+1, last-1 {
		for _, i := range []int{of[first], of[last]} {
			c.list[i].More = r.settling(c.list[i], f, c.law, y, known)
		}
	}
}

// settling returns how many further replicates of each treatment it takes until
// the verdict is, with the power asked for, no longer unresolved, whatever the
// true difference, given the precision reached so far. The noise is taken at the
// limit that it stays under with confidence [NoiseConfidence]: taken as measured,
// it would give the power half of the time only. Of a comparison read on one side, which
// cannot settle that there is no difference, it is until a true difference as
// large as the margin is found. It is nil without a margin, or when no affordable
// number would do. Answers that are known are used, and added to.
func (r replication) settling(c Comparison, f family, law compare.Family, y yardstick, known map[power.Target][]replicatesAt) *int {
	margin := y.plainMargin()
	if j := slices.Index(f.labels, c.Against); j >= 0 {
		margin = y.marginAgainst(y.onScale(f.all.Value[j]))
	}
	if c.Verdict != compare.Unresolved || !(margin > 0) || !c.SE.Known() || r.useless {
		return nil
	}
	sd := math.Sqrt(r.variance)
	now := power.Precision{SE: float64(c.SE) / sd * math.Sqrt(y.looks.inflation()), DF: float64(c.DF)}
	ask := power.Test{Family: law, Alpha: y.alpha}
	target := power.Target{Goal: power.Settle, Margin: margin, Noise: power.Scatter{SD: power.Scatter{SD: sd, DF: float64(c.DF)}.Upper(NoiseConfidence)}, Power: r.power}
	if _, best := law.(compare.Best); best || compare.OneSided(law) {
		target.Goal, ask.Family = power.Find, compare.Best{Levels: len(f.live)}
	}
	n, found := bracketed(known[target], now.SE)
	if !found {
		grow, replicates := r.growing(f, now, y.looks)
		if answer, err := ask.Needed(target, grow, mostBlocks); err == nil {
			n = int(math.Ceil(float64(max(1, answer.N))*replicates - 1e-9))
		}
		if n*r.treatments > power.Affordable(r.runs) {
			n = 0
		}
		known[target] = append(known[target], replicatesAt{now.SE, n})
	}
	if n == 0 {
		return nil
	}
	return &n
}

// growing is how the precision of a comparison grows, and by how many replicates a step: by
// blocks where the request says how, otherwise run by run at each level.
func (r replication) growing(f family, now power.Precision, looks *Stage) (by power.Growth, replicates float64) {
	if r.growth != nil {
		return r.growth(f.of.Term(), len(f.live), now)
	}
	d := power.Design{Treatments: r.treatments, Blocks: 1, Replicates: 1, Compared: len(f.live), Efficiency: 1 / looks.inflation()}
	return d.MoreReplicates(now), 1
}

// replicatesAt is how many more a comparison of this standard error needs; n = 0: no affordable number.
type replicatesAt struct {
	se float64
	n  int
}

// bracketed returns the answer that standard errors at most and at least as large have in
// common, since the number grows with the standard error; equal but for rounding is equal.
func bracketed(answers []replicatesAt, se float64) (n int, known bool) {
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
