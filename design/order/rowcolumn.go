package order

import (
	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// freshSquares returns how many Latin squares a stage draws afresh: all of its order, if it is made
// of them alone.
func (s *stage) freshSquares() int {
	p := s.plan
	blocks := p.Blocks - s.from
	if p.kind() != kindRows || p.Runs > 0 || blocks%p.Treatments != 0 {
		return 0
	}
	return blocks / p.Treatments * p.Replicates
}

// drawSquares fills the blocks of a stage with Latin squares, side by side and one set of T blocks
// after the other.
func (s *stage) drawSquares(src *lot.Stream, l *blocks.Latin, part []int32) {
	t, n := s.plan.Treatments, s.plan.runsPerBlock()
	for ; len(part) > 0; part = part[t*n:] {
		for from := 0; from < n; from += t {
			l.Draw(src)
			for r := range t {
				for c := range t {
					part[r*n+from+c] = int32(l.Square[r*t+c])
				}
			}
		}
	}
}
