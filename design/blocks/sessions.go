package blocks

import (
	"fmt"
	"slices"

	"fairrun/design/lot"
)

// Sessions are runs of consecutive blocks: blocks are nested in them. With m blocks of k runs a session
// has λ = mk/T runs of each treatment. Where λ is whole the blocks of a plan are chosen so that every
// session holds every treatment λ times: sessions are complete, and the design is resolvable into them
// (Bose, R. C. 1942, Sankhyā 6, for λ = 1); square lattices and alpha designs are so by construction.
//
// Where λ is not whole ⌊λ⌋ or ⌈λ⌉ runs of each would be most even, but to insist on that costs up to one
// part in twenty of the blocks' efficiency, which complete nothing. Counts may then be one more or
// less, and the blocks that are found are put into sessions as evenly as exchanging them can. Blocks of
// whole plots are designed first and then put into sessions likewise.

// sessions counts the runs of each treatment in each session of a design while it is searched for. nil
// is a design without sessions, which allows everything.
type sessions struct {
	treatments, blocks int     // blocks of a session
	given              [][]int // blocks that stand before the design
	least, most        []int   // of each session: runs of one treatment that are allowed
	times              [][]int // of each session: runs of each treatment
	squares            int     // the least sum of squared counts that there can be
	exact              bool    // least is most in every session
}

// newSessions returns the sessions of the plan, whose first blocks are given; nil if it has none.
func newSessions(p Spec, given [][]int) *sessions {
	if p.Session == 0 {
		return nil
	}
	s := &sessions{treatments: p.Treatments, blocks: p.Session, given: given, exact: true}
	full, over := p.Session*p.Runs/p.Treatments, p.Session*p.Runs%p.Treatments
	for from := 0; from < p.Blocks; from += p.Session {
		runs := min(p.Session, p.Blocks-from) * p.Runs
		least, more := runs/p.Treatments, runs%p.Treatments
		most := least
		s.squares += (p.Treatments-more)*least*least + more*(least+1)*(least+1)
		if more > 0 {
			s.exact = false
			least, most = max(0, least-1), least+2
			if over == 0 {
				most = min(most, full) // what an extension adds must make it complete
			}
		}
		s.least, s.most = append(s.least, least), append(s.most, most)
		s.times = append(s.times, make([]int, p.Treatments))
	}
	return s
}

// of returns the session of a block of the design.
func (s *sessions) of(block int) int { return (len(s.given) + block) / s.blocks }

// count counts a design, or what there is of it so far.
func (s *sessions) count(design [][]int) {
	if s == nil {
		return
	}
	for _, row := range s.times {
		clear(row)
	}
	for b, block := range s.given {
		for _, t := range block {
			s.times[b/s.blocks][t]++
		}
	}
	for b, block := range design {
		for _, t := range block {
			s.times[s.of(b)][t]++
		}
	}
}

// runsOf returns how often a treatment stands in the session of a block so far; 0 without sessions.
func (s *sessions) runsOf(treatment, block int) int {
	if s == nil {
		return 0
	}
	return s.times[s.of(block)][treatment]
}

// add notes a run.
func (s *sessions) add(treatment, block int) {
	if s != nil {
		s.times[s.of(block)][treatment]++
	}
}

// allowed reports whether every session holds every treatment as often as is allowed.
func (s *sessions) allowed() bool {
	for i, row := range s.times {
		if slices.Min(row) < s.least[i] || slices.Max(row) > s.most[i] {
			return false
		}
	}
	return true
}

// mayExchange reports whether x of block a may be exchanged with y of block b.
func (s *sessions) mayExchange(a, b, x, y int) bool {
	if s == nil {
		return true
	}
	return s.of(a) == s.of(b) || s.mayReplace(a, x, y) && s.mayReplace(b, y, x)
}

// mayReplace reports whether x of block a may be replaced by y.
func (s *sessions) mayReplace(a, x, y int) bool {
	if s == nil {
		return true
	}
	i := s.of(a)
	return s.times[i][x] > s.least[i] && s.times[i][y] < s.most[i]
}

// replace notes that y has come for x in block a.
func (s *sessions) replace(a, x, y int) {
	if s == nil {
		return
	}
	row := s.times[s.of(a)]
	row[x]--
	row[y]++
}

// near returns the blocks before to, from from on, that a run of block a may be exchanged with: those
// of its session where exchanges with others are never allowed, otherwise all of so many.
func (s *sessions) near(a, blocks int) (from, to int) {
	if s == nil || !s.exact {
		return 0, blocks
	}
	from = s.of(a)*s.blocks - len(s.given)
	return max(0, from), min(from+s.blocks, blocks)
}

// arrangeWork bounds the exchanges of blocks that arrange looks at, and arrangeStarts its starts.
const (
	arrangeWork   = 2_000_000
	arrangeStarts = 200
)

// arrange puts the blocks of a design into sessions as evenly as it can, and reports whether each then
// holds every treatment as often as is allowed: from the order given, and then from random ones, it
// exchanges blocks as long as that lowers the sum of squared counts.
func (s *sessions) arrange(design [][]int, src *lot.Stream) bool {
	if s == nil {
		return true
	}
	left, least, allowed := arrangeWork, 0, false
	var best [][]int
	keep := func(squares int) {
		if is := s.allowed(); best == nil || is && !allowed || is == allowed && squares < least {
			best, least, allowed = slices.Clone(design), squares, is
		}
	}
	s.count(design)
	keep(s.sumOfSquares())
	for start := 0; start < arrangeStarts && left > 0 && least > s.squares; start++ {
		if start > 0 {
			lot.Shuffle(src, design)
		}
		s.count(design)
		now := s.sumOfSquares()
		for improved := true; improved && left > 0 && now > s.squares; {
			improved = false
			for a := range design {
				for b := range a {
					if s.of(a) == s.of(b) {
						continue
					}
					left -= len(design[a])
					if gain := s.exchangeGain(design[a], design[b], a, b); gain > 0 {
						s.exchangeBlocks(design, a, b)
						now -= 2 * gain
						improved = true
					}
				}
			}
		}
		keep(now)
	}
	copy(design, best)
	return allowed
}

// sumOfSquares returns the sum of squared counts.
func (s *sessions) sumOfSquares() int {
	sum := 0
	for _, row := range s.times {
		for _, n := range row {
			sum += n * n
		}
	}
	return sum
}

// exchangeGain returns half of what exchanging two blocks of different sessions takes off the sum of squared
// counts. Counts are left as they are.
func (s *sessions) exchangeGain(x, y []int, a, b int) int {
	from, to := s.times[s.of(a)], s.times[s.of(b)]
	gain := 0
	move := func(treatments []int, from, to []int) {
		for _, t := range treatments {
			// n² + m² becomes (n − 1)² + (m + 1)².
			gain += from[t] - to[t] - 1
			from[t]--
			to[t]++
		}
	}
	move(x, from, to)
	move(y, to, from)
	for _, t := range x {
		from[t]++
		to[t]--
	}
	for _, t := range y {
		to[t]++
		from[t]--
	}
	return gain
}

func (s *sessions) exchangeBlocks(design [][]int, a, b int) {
	for _, t := range design[a] {
		s.times[s.of(a)][t]--
		s.times[s.of(b)][t]++
	}
	for _, t := range design[b] {
		s.times[s.of(b)][t]--
		s.times[s.of(a)][t]++
	}
	design[a], design[b] = design[b], design[a]
}

// resolvable returns designs that come in replicates of s = T/k blocks each, for plans in which a session
// holds one or several of them and the last is left in part: constructions has the others.
func resolvable(p Spec, blocks int, src *lot.Stream) [][][]int {
	t, k := p.Treatments, p.Runs
	if k < 2 || k >= t || t%k != 0 || p.Session%(t/k) != 0 || blocks%(t/k) == 0 {
		return nil
	}
	s := t / k
	replicates := blocks/s + 1
	var designs [][][]int
	if s == k {
		if design := squareLattice(s, replicates); design != nil {
			designs = append(designs, design[:blocks])
		}
	}
	return append(designs, alphaDesign(s, k, replicates, src)[:blocks])
}

// sessionBound returns the bound for designs whose S sessions of m blocks all hold every treatment
// equally often; 1 for others. Blocks of a session then add up to the same for every treatment, so that
// they take information from q = S(m − 1) comparisons at most, of T − 1. What they take is (T − 1)(1 − ē)
// in all, and the harmonic mean is greatest when it is shared out equally:
//
//	E ≤ (T − 1) / [ T − 1 − q + q/(1 − (T − 1)(1 − ē)/q) ]   where q < T − 1,
//
// which for S replicates of T/k blocks each is the bound of Patterson and Williams (1976),
// (T − 1)(S − 1) / [(T − 1)(S − 1) + S(T/k − 1)].
func sessionBound(p Spec) float64 {
	if p.Session == 0 || p.Blocks%p.Session != 0 || p.Session*p.Runs%p.Treatments != 0 {
		return 1
	}
	mean, _ := meanEfficiency(p.Treatments, p.Runs)
	comparisons := float64(p.Treatments - 1)
	q := float64(p.Blocks / p.Session * (p.Session - 1))
	if q >= comparisons {
		return 1
	}
	each := 1 - comparisons*(1-mean)/q
	if each <= 0 {
		return 1 // too few blocks to join all treatments
	}
	return comparisons / (comparisons - q + q/each)
}

// CheckSessions returns an error if some session of blocks holds a treatment more or less often than
// another needs be.
func CheckSessions(p Spec, design [][]int) error {
	s := newSessions(p, nil)
	if s == nil {
		return nil
	}
	s.count(design)
	for i, row := range s.times {
		for t, n := range row {
			if n < s.least[i] || n > s.most[i] {
				return fmt.Errorf("session %d holds treatment %d %d times, the plan %d to %d", i+1, t, n, s.least[i], s.most[i])
			}
		}
	}
	return nil
}
