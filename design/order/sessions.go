package order

import (
	"slices"

	"fairrun/design/lot"
	"fairrun/stats/words"
)

// PerSession returns the least and the most drawn runs of one treatment in a whole session of an order,
// which holds the treatments at the positions of each block. It panics on a plan without sessions.
func (p Spec) PerSession(blocks [][]int) (least, most int) {
	if p.Session == 0 {
		panic("order: the plan has no sessions")
	}
	drawn, _ := p.slots()
	least = p.Session * p.Runs
	times := make([]int, p.Treatments)
	for from := 0; from+p.Session <= len(blocks) || from == 0; from += p.Session {
		clear(times)
		for _, block := range blocks[from:min(from+p.Session, len(blocks))] {
			for _, i := range drawn {
				times[block[i]]++
			}
		}
		least, most = min(least, slices.Min(times)), max(most, slices.Max(times))
	}
	return least, most
}

// session returns the blocks of a session: without sessions, more than a plan has.
func (p Spec) session() int {
	if p.Session == 0 {
		return maxRuns + 1
	}
	return p.Session
}

// shuffleBlocks draws the places of the blocks of a stage: sessions that lie in it whole change
// places with each other, and blocks with those of their session.
func (m *Sampler) shuffleBlocks(s *stage) {
	size, from, to := s.plan.session(), s.from, s.plan.Blocks
	place := m.block[from:to]
	for b := range place {
		place[b] = from + b
	}
	first, last := (from+size-1)/size, to/size
	if last > first {
		turn := m.sessions[:last-first]
		for i := range turn {
			turn[i] = first + i
		}
		lot.Shuffle(m.src, turn)
		for i, session := range turn {
			for j := range size {
				place[(first+i)*size+j-from] = session*size + j
			}
		}
	}
	for at := from; at < to; {
		end := min((at/size+1)*size, to)
		lot.Shuffle(m.src, place[at-from:end-from])
		at = end
	}
}

// blockOrders returns the number of ways to exchange so many blocks of the stage.
func (s *stage) blockOrders(blocks int) lot.Count {
	size := s.plan.session()
	to := s.from + blocks
	first, last := (s.from+size-1)/size, to/size
	c := lot.Count{Exact: 1}
	if last > first {
		c = lot.Factorial(last - first)
	}
	for at := s.from; at < to; {
		end := min((at/size+1)*size, to)
		c = c.Times(lot.Factorial(end - at))
		at = end
	}
	return c
}

// checkSessions refuses sessions that no order can have.
func (p Spec) checkSessions() error {
	switch {
	case p.Session < 0 || p.Session == 1:
		return p.impossible(func(q *Spec) { q.Session = 0 }, "a session of %s is none", words.Count(p.Session, "block"))
	case p.Session > 0 && p.Runs == 0:
		return p.impossible(func(q *Spec) { q.Session = 0 }, "complete blocks are alike, in sessions or not")
	}
	return nil
}
