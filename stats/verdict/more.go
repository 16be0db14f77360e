package verdict

import (
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/power"
)

// mostBlocks bounds the search for further replicates.
const mostBlocks = 1000

// more returns how many further replicates of each treatment it takes until
// the verdict is, with the power asked for, no longer unresolved, whatever the
// true difference, given the precision reached so far; the power is averaged over
// what is not known about the noise. Of a comparison read on one side, which
// cannot settle that there is no difference, it is until a true difference as
// large as the margin is found. It is nil without a margin, or when no affordable
// number would do.
func (s *subject) more(c Comparison, f family, law compare.Family) *int {
	margin := s.marginAgainst(c, f)
	if c.Verdict != compare.Unresolved || !(margin > 0) || !c.SE.Known() {
		return nil
	}
	if _, random := s.fitted.(reml); random && (len(s.d.Random) > 0 || len(s.d.Interplay) > 0 || s.q.Growth.PerBlock == 0) {
		return nil // more runs of the same units are not what it takes
	}
	sd := math.Sqrt(s.sigma2)
	perBlock := max(1, s.q.Growth.PerBlock)
	now := power.Precision{SE: float64(c.SE) / sd * math.Sqrt(s.inflation()), DF: float64(c.DF)}
	design := power.Design{Treatments: s.treatments(), Blocks: 1, Replicates: perBlock, Compared: len(f.live), Efficiency: 1 / s.inflation()}
	grow := design.MoreReplicates(now)
	if s.q.Growth.PerBlock > 0 {
		design.OwnDrift = s.ownDrift()
		grow = design.MoreBlocks(now)
	}
	ask := power.Comparison{Family: law, Alpha: s.q.Alpha}
	target := power.Target{Goal: power.Settle, Margin: margin, Noise: power.Noise{SD: sd, DF: float64(c.DF)}, Power: s.q.Power}
	if _, best := law.(compare.Best); best || oneSided(law) {
		target.Goal, ask.Family = power.Find, compare.Best{Levels: len(f.live)}
	}
	key := asked{f.name, target, float32(now.SE)}
	n, known := s.asked[key]
	if !known {
		if answer, err := ask.NeededAssured(target, grow, mostBlocks); err == nil {
			n = max(1, answer.N) * perBlock
		}
		if s.asked == nil {
			s.asked = map[asked]int{}
		}
		s.asked[key] = n
	}
	if n == 0 {
		return nil
	}
	return &n
}

// asked is a question of how many more that comparisons alike have in common.
type asked struct {
	family string
	target power.Target
	se     float32 // equal but for rounding is equal
}

// marginAgainst is the margin of a comparison on the scale of the analysis.
func (s *subject) marginAgainst(c Comparison, f family) float64 {
	m := s.m.Margin
	switch {
	case m == nil:
		return math.NaN()
	case s.m.Scale == Log:
		return math.Log1p(m.Value)
	case m.Relative:
		j := index(f.labels, c.Against)
		if j < 0 {
			return math.NaN()
		}
		return m.Value * math.Abs(s.onScale(f.all.Value[j]))
	}
	return m.Value
}

// treatments counts the combinations of levels that are run.
func (s *subject) treatments() int {
	if s.q.Chosen != nil {
		return len(s.q.Chosen)
	}
	return max(2, combinations(s.d.Treatments))
}

// ownDrift counts the drift terms that each block has to itself.
func (s *subject) ownDrift() int {
	n := 0
	for _, c := range s.d.Covariates {
		if c.By != nil {
			n++
		}
	}
	return n
}
