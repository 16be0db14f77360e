package sheet

import (
	"cmp"
	"slices"
)

// DoneOrder is the order in which runs were made.
type DoneOrder struct {
	// Position is of each run its place in its block, from 1: the one drawn, unless the
	// times of the block say otherwise.
	Position []int

	// Moved are the numbers of the runs whose place is not the one drawn.
	Moved []int

	// Untimed are the numbers of the blocks in which a run was made without a time that
	// can be read, so that their order is not known and is taken as drawn.
	Untimed []int
}

// DoneOrder tells from done_at in which order the runs of each block were made. Ok,
// failed and void runs count: each of them warms the bench. If they were made in the
// order drawn every run keeps its position; otherwise they are numbered in the order
// of their times, and those not made follow in the order drawn. Equal times keep the
// order drawn.
func (s *Sheet) DoneOrder() DoneOrder {
	o := DoneOrder{Position: make([]int, len(s.Runs))}
	blocks := map[int][]*Run{}
	last := 0
	for i := range s.Runs {
		r := &s.Runs[i]
		o.Position[i] = r.Position
		blocks[r.Block] = append(blocks[r.Block], r)
		last = max(last, r.Block)
	}
	for block := 1; block <= last; block++ {
		o.block(block, blocks[block])
	}
	return o
}

// block puts the runs of a block in the order they were made.
func (o *DoneOrder) block(block int, runs []*Run) {
	made := func(r *Run) bool { return r.Status != ToDo }
	if slices.ContainsFunc(runs, func(r *Run) bool { return made(r) && r.DoneAt.IsZero() }) {
		o.Untimed = append(o.Untimed, block)
		return
	}
	byPosition := func(a, b *Run) int { return cmp.Compare(a.Position, b.Position) }
	byTime := func(a, b *Run) int { return cmp.Or(a.DoneAt.Compare(b.DoneAt), byPosition(a, b)) }
	var done, open []*Run
	for _, r := range runs {
		if made(r) {
			done = append(done, r)
		} else {
			open = append(open, r)
		}
	}
	slices.SortFunc(done, byPosition)
	if slices.IsSortedFunc(done, byTime) {
		return
	}
	slices.SortFunc(done, byTime)
	slices.SortFunc(open, byPosition)
	for i, r := range append(done, open...) {
		o.Position[r.Run-1] = i + 1
	}
	slices.SortFunc(runs, byPosition)
	for _, r := range runs {
		if made(r) && o.Position[r.Run-1] != r.Position {
			o.Moved = append(o.Moved, r.Run)
		}
	}
}
