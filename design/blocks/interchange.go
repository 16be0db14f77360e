package blocks

import (
	"cmp"
	"math"
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/lot"
	"fairrun/design/screen"
)

// interchange searches for a block design by exchanging treatments between blocks and by replacing them.
//
// Designs are compared by their average variance, computed in full. With more than smallSearch
// treatments a step is judged by the sum of squared concurrences instead, the number of blocks
// (with multiplicity) that two treatments share, which is small when the average variance is (the
// (M,S) criterion; Eccleston, J. A. & Hedayat, A. 1974, Annals of Statistics 2), and only the
// results are compared by their average variance. Search takes a fixed number of steps.
type interchange struct {
	treatments, k int
	given         [][]int // blocks that stand
	basis         []float64
	side          int
	bound         float64 // an efficiency at which to stop
	sessions      *sessions

	plan     Spec
	best     [][]int // without the given ones
	bestLoss float64 // of interactions
	bestCost float64 // tr of the inverse information
	work     []float64
}

// smallSearch is the most treatments for which steps are judged by average variance, and searchWork
// about how many multiplications are spent then, unless so many starts in a row find nothing
// better; searchSteps is the number of steps otherwise.
const (
	smallSearch = 16
	searchWork  = 60_000_000
	idleStarts  = 60
	searchSteps = 1_500_000
)

func newInterchange(p Spec, given [][]int) *interchange {
	s := &interchange{
		treatments: p.Treatments, k: p.Runs, given: given, plan: p,
		bound:    efficiencyBound(p),
		sessions: newSessions(p, given),
		bestCost: math.Inf(1),
		work:     make([]float64, p.Treatments*p.Treatments),
	}
	s.basis, s.side = information.Basis(p.Treatments, p.Effects)
	return s
}

// result returns the given blocks followed by the best ones.
func (s *interchange) result() [][]int {
	return append(slices.Clone(s.given), s.best...)
}

// offer keeps a design if it is better than the best so far, or as good and mixes less of the
// interactions with blocks, and reports whether the best is at the bound.
func (s *interchange) offer(design [][]int) bool {
	cost := s.cost(design)
	better := cost < s.bestCost*(1-1e-12)
	loss := s.bestLoss
	if s.plan.Effects != nil && !math.IsInf(cost, 1) && (better || cost < s.bestCost*(1+1e-12)) {
		loss = screen.InteractionLoss(s.plan.Effects, append(slices.Clone(s.given), design...))
		better = better || loss < s.bestLoss-1e-9
	}
	if better {
		s.bestCost, s.bestLoss = cost, loss
		s.best = s.best[:0]
		for _, block := range design {
			s.best = append(s.best, slices.Clone(block))
		}
	}
	return s.atBound()
}

func (s *interchange) atBound() bool {
	return s.mainEffectsClear() && s.bestLoss < 1e-9
}

// mainEffectsClear reports whether the comparisons that count are at the bound.
func (s *interchange) mainEffectsClear() bool {
	runs := (len(s.given) + len(s.best)) * s.k
	return s.best != nil && efficiencyOfTrace(s.bestCost, s.treatments, s.basis, s.side, runs) >= s.bound-1e-9
}

// cost returns the sum of the variances of orthonormal comparisons, (T − 1)/2 times the average
// variance; +Inf if one cannot be estimated.
func (s *interchange) cost(design [][]int) float64 {
	t := s.treatments
	c := s.work
	clear(c)
	inv := 1 / float64(s.k)
	for _, part := range [][][]int{s.given, design} {
		for _, block := range part {
			for _, x := range block {
				c[x*t+x]++
				for _, y := range block {
					c[x*t+y] -= inv
				}
			}
		}
	}
	return information.Trace(c, t, s.basis, s.side)
}

// search improves on the best design, and on random ones.
func (s *interchange) search(blocks int, src *lot.Stream) {
	if s.treatments > smallSearch && s.basis == nil {
		s.searchLarge(blocks, src)
		return
	}
	t := s.treatments
	left := searchWork / (t*t*t/2 + (blocks+len(s.given))*s.k*s.k)
	if s.best != nil {
		left = s.descend(Clone(s.best), left)
	}
	for idle := 0; idle < idleStarts && left > 0 && !s.atBound(); idle++ {
		was := s.bestCost
		left = s.descend(s.random(blocks, src), left)
		if s.bestCost < was {
			idle = 0
		}
	}
}

// random returns blocks of treatments that occur equally often, or nearly so, none twice in a block
// if that can be helped; with sessions, in each of them.
func (s *interchange) random(blocks int, src *lot.Stream) [][]int {
	times := make([]int, s.treatments)
	for _, block := range s.given {
		for _, t := range block {
			times[t]++
		}
	}
	s.sessions.count(nil)
	turn := lot.Identity(s.treatments)
	design := make([][]int, blocks)
	for b := range design {
		lot.Shuffle(src, turn)
		inBlock := make([]int, s.treatments)
		for range s.k {
			pick := -1
			for _, t := range turn {
				if pick < 0 || cmp.Or(s.sessions.runsOf(t, b)-s.sessions.runsOf(pick, b), inBlock[t]-inBlock[pick], times[t]-times[pick]) < 0 {
					pick = t
				}
			}
			inBlock[pick]++
			times[pick]++
			s.sessions.add(pick, b)
			design[b] = append(design[b], pick)
		}
	}
	return design
}

// descend takes every step that improves a design until none does or left costs have been computed,
// and returns how many are left.
func (s *interchange) descend(design [][]int, left int) int {
	s.sessions.count(design)
	now := s.cost(design)
	try := func() bool {
		left--
		if c := s.cost(design); c < now*(1-1e-12) || math.IsInf(now, 1) && !math.IsInf(c, 1) {
			now = c
			return true
		}
		return false
	}
	for improved := true; improved && left > 0; {
		improved = false
		for a, block := range design {
			for i := range block {
				// Exchange with a later block.
				for b, other := range design[a+1:] {
					b += a + 1
					for j := range other {
						x, y := block[i], other[j]
						if x == y || left <= 0 || !s.sessions.mayExchange(a, b, x, y) {
							continue
						}
						block[i], other[j] = y, x
						if try() {
							improved = true
							s.sessions.replace(a, x, y)
							s.sessions.replace(b, y, x)
						} else {
							block[i], other[j] = other[j], block[i]
						}
					}
				}
				// Replace.
				for t := range s.treatments {
					was := block[i]
					if t == was || left <= 0 || !s.sessions.mayReplace(a, was, t) {
						continue
					}
					block[i] = t
					if try() {
						improved = true
						s.sessions.replace(a, was, t)
					} else {
						block[i] = was
					}
				}
			}
		}
	}
	s.offer(design)
	return left
}

// searchLarge exchanges treatments between blocks at random, accepting steps that raise the sum of
// squared concurrences by no more than a limit that falls to zero (threshold accepting: Dueck, G. &
// Scheuer, T. 1990, Journal of Computational Physics 90).
func (s *interchange) searchLarge(blocks int, src *lot.Stream) {
	t := s.treatments
	for range 2 {
		design := s.random(blocks, src)
		if s.best != nil {
			design = Clone(s.best)
		}
		s.sessions.count(design)
		meet := make([]int32, t*t)
		for _, part := range [][][]int{s.given, design} {
			for _, block := range part {
				for _, x := range block {
					for _, y := range block {
						meet[x*t+y]++
					}
				}
			}
		}
		steps := searchSteps / s.k
		for step := range steps {
			a := int(src.Below(uint64(blocks)))
			from, to := s.sessions.near(a, blocks)
			b := from + int(src.Below(uint64(to-from)))
			i, j := int(src.Below(uint64(s.k))), int(src.Below(uint64(s.k)))
			x, y := design[a][i], design[b][j]
			if a == b || slices.Contains(design[a], y) || slices.Contains(design[b], x) || !s.sessions.mayExchange(a, b, x, y) {
				continue
			}
			limit := 6 * (steps - step) / steps
			// In a, y comes for x; in b, x for y.
			var change int32
			for q, z := range design[a] {
				if q != i {
					change += meet[y*t+z] - meet[x*t+z] + 1
				}
			}
			for q, z := range design[b] {
				if q != j {
					change += meet[x*t+z] - meet[y*t+z] + 1
				}
			}
			// A treatment of both blocks keeps its concurrences.
			for _, z := range design[a] {
				if z != x && slices.Contains(design[b], z) {
					change -= 2
				}
			}
			if int(change) > limit {
				continue
			}
			for q, z := range design[a] {
				if q != i {
					meet[y*t+z]++
					meet[z*t+y]++
					meet[x*t+z]--
					meet[z*t+x]--
				}
			}
			for q, z := range design[b] {
				if q != j {
					meet[x*t+z]++
					meet[z*t+x]++
					meet[y*t+z]--
					meet[z*t+y]--
				}
			}
			design[a][i], design[b][j] = y, x
			s.sessions.replace(a, x, y)
			s.sessions.replace(b, y, x)
		}
		if s.offer(design) {
			return
		}
	}
}
