package blocks

import (
	"math"
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// splitSearch searches for blocks of whole plots.
type splitSearch struct {
	p                     Spec
	positions, neighbours bool // what is balanced, besides comparisons
	given                 [][]int
	settings              [][]int
	src                   *lot.Stream

	best     [][]int
	bestCost float64
	left     int // costs that may still be computed
}

// overBlocks returns the settings of the whole plots of each block that is not given, in the order
// in which they stand there.
func (s *splitSearch) overBlocks() ([][]int, error) {
	h, w, blocks := len(s.settings), s.p.PlotsPerBlock(), s.p.Blocks-len(s.given)
	q := Spec{Treatments: h, Blocks: s.p.Blocks, Runs: w}
	var given [][]int
	for _, block := range s.given {
		var of []int
		for from := range information.WholePlots(s.p.Plots, block) {
			of = append(of, s.p.Plots[block[from]])
		}
		given = append(given, of)
	}
	if w == h {
		q.Runs, q.Replicates = 0, 1
	}
	if s.neighbours {
		blocks, err := NeighbourBalanced(q, given)
		if err != nil {
			return nil, err
		}
		return blocks[len(given):], nil
	}
	all, err := RowsAndColumns(q, given)
	if err != nil {
		return nil, &UnconnectedError{s.p}
	}
	return all[s.p.Blocks-blocks:], nil
}

// within fills whole plots with treatments, each block's settings being given. Where a setting has
// whole plots of one length, its treatments are an incomplete block design of them.
func (s *splitSearch) within(over [][]int) [][]int {
	sizes := s.sizes(over)
	fill := make([][][]int, len(s.settings)) // whole plots of each setting, in turn
	for h, treatments := range s.settings {
		var lengths []int
		for b, of := range over {
			if i := slices.Index(of, h); i >= 0 {
				lengths = append(lengths, sizes[b][i])
			}
		}
		for _, plot := range s.fill(len(treatments), lengths) {
			for i, k := range plot {
				plot[i] = treatments[k]
			}
			fill[h] = append(fill[h], plot)
		}
	}
	blocks := make([][]int, len(over))
	for b, of := range over {
		for _, h := range of {
			blocks[b] = append(blocks[b], fill[h][0]...)
			fill[h] = fill[h][1:]
		}
	}
	return blocks
}

// fill returns whole plots of so many runs of m treatments, each begun one place further on; where
// neighbours count, rows of Williams squares.
func (s *splitSearch) fill(m int, lengths []int) [][]int {
	if len(lengths) == 0 {
		return nil
	}
	k := lengths[0]
	var plots [][]int
	if s.p.Runs > 0 && len(lengths) > 1 && m > 1 && k > 1 && k%m != 0 && slices.Min(lengths) == slices.Max(lengths) {
		plots, _ = Incomplete(Spec{Treatments: m, Blocks: len(lengths), Runs: k}, nil)
	}
	if s.neighbours {
		rows := williams(m)
		for i, length := range lengths {
			var plot []int
			for r := range length / m {
				plot = append(plot, rows[(i+r)%len(rows)]...)
			}
			plots = append(plots, plot)
		}
	}
	if plots == nil {
		next := 0
		for i, length := range lengths {
			var plot []int
			for j := range length {
				if length%m == 0 {
					plot = append(plot, (i+j)%m)
				} else {
					plot = append(plot, next%m)
					next++
				}
			}
			plots = append(plots, plot)
		}
	}
	return plots
}

// sizes returns the runs of each whole plot: in proportion to the treatments of its setting, the
// runs that are left over going to the settings that have had the least of their share so far.
func (s *splitSearch) sizes(over [][]int) [][]int {
	had := make([]int, len(s.settings))
	for _, block := range s.given {
		for _, t := range block {
			had[s.p.Plots[t]]++
		}
	}
	n := s.p.runsPerBlock()
	sizes := make([][]int, len(over))
	for b, of := range over {
		all := 0
		for _, h := range of {
			all += len(s.settings[h])
		}
		left := n
		sizes[b] = make([]int, len(of))
		for i, h := range of {
			sizes[b][i] = max(1, n*len(s.settings[h])/all)
			left -= sizes[b][i]
			had[h] += sizes[b][i]
		}
		for ; left > 0; left-- {
			least := -1
			for i, h := range of {
				// had/treatments, and then the length of the whole plot, compared in whole numbers
				if least < 0 || sizes[b][i]*len(s.settings[of[least]]) < sizes[b][least]*len(s.settings[h]) ||
					sizes[b][i]*len(s.settings[of[least]]) == sizes[b][least]*len(s.settings[h]) &&
						had[h]*len(s.settings[of[least]]) < had[of[least]]*len(s.settings[h]) {
					least = i
				}
			}
			sizes[b][least]++
			had[of[least]]++
		}
		for ; left < 0; left++ {
			most := 0
			for i := range of {
				if sizes[b][i] > sizes[b][most] {
					most = i
				}
			}
			sizes[b][most]--
			had[of[most]]--
		}
	}
	return sizes
}

// cost is the sum of the variances of orthonormal comparisons.
func (s *splitSearch) cost(blocks [][]int) float64 {
	return information.TraceInPlots(s.p.Treatments, s.p.Plots, s.p.Effects, append(slices.Clone(s.given), blocks...), s.positions)
}

// improve exchanges runs as long as that lowers the cost, from blocks and then from random starts
// of the same whole plots, and leaves the best.
func (s *splitSearch) improve(blocks [][]int) {
	p, n := s.p, s.p.runsPerBlock()
	work := p.Treatments*p.Treatments*p.Treatments/2 + p.Blocks*n*n
	if s.positions {
		work += n*n*n/2 + p.Treatments*n*n + p.Treatments*p.Treatments*n
	}
	s.left = exchangeWork / work
	if s.left == 0 { // a single cost would take too long
		if s.positions {
			s.shuffleWithin(blocks)
		}
		s.best = blocks
		return
	}
	bound := 0.0
	if p.Runs > 0 && p.Effects == nil && !s.positions {
		bound = p.leastPlotTrace(append(slices.Clone(s.given), blocks...))
	}
	for idle := 0; idle < idleStarts && (s.best == nil || s.left > 0); idle++ {
		start := Clone(blocks)
		if s.best != nil {
			s.shuffle(start)
		}
		if s.positions {
			evenOut(append(slices.Clone(s.given), start...), len(s.given), p.Treatments, p.Plots)
		}
		cost := s.descend(start)
		if s.best == nil && !math.IsInf(cost, 1) || cost < s.bestCost*(1-1e-9) {
			s.best, s.bestCost = start, cost
			idle = 0
		}
		if s.best != nil && s.bestCost <= bound*(1+1e-9) || s.left <= 0 {
			return
		}
	}
}

// shuffle puts treatments of each setting, and whole plots where their places matter, in random
// order.
func (s *splitSearch) shuffle(blocks [][]int) {
	p := s.p
	if p.Runs > 0 {
		for h := range s.settings {
			var at []*int
			for _, block := range blocks {
				for i := range block {
					if p.Plots[block[i]] == h {
						at = append(at, &block[i])
					}
				}
			}
			order := lot.Identity(len(at))
			lot.Shuffle(s.src, order)
			was := make([]int, len(at))
			for i, x := range at {
				was[i] = *x
			}
			for i, x := range at {
				*x = was[order[i]]
			}
		}
	}
	if !s.positions {
		return
	}
	s.shuffleWithin(blocks)
	for _, block := range blocks {
		for range s.settings {
			i, j := int(s.src.Below(uint64(len(block)))), int(s.src.Below(uint64(len(block))))
			exchangePlots(p.Plots, block, make([]int, len(block)), i, j)
		}
	}
}

// shuffleWithin puts the runs of each whole plot in random order.
func (s *splitSearch) shuffleWithin(blocks [][]int) {
	for _, block := range blocks {
		for from, to := range information.WholePlots(s.p.Plots, slices.Clone(block)) {
			lot.Shuffle(s.src, block[from:to])
		}
	}
}

// descend takes every step that lowers the cost of blocks until none does or no cost may be
// computed, and returns the cost.
func (s *splitSearch) descend(blocks [][]int) float64 {
	p := s.p
	now := s.cost(blocks)
	better := func() bool {
		s.left--
		c := s.cost(blocks)
		if c < now*(1-1e-12) || math.IsInf(now, 1) && !math.IsInf(c, 1) {
			now = c
			return true
		}
		return false
	}
	for improved := true; improved && s.left > 0; {
		improved = false
		for b, block := range blocks {
			for i := range block {
				if p.Runs > 0 && s.exchange(blocks[b+1:], block, i, better) {
					improved = true
				}
				if s.positions && s.move(block, i, better) {
					improved = true
				}
				if s.left <= 0 {
					return now
				}
			}
		}
	}
	return now
}

// exchange exchanges run i of a block with a run of its setting in a later block, or replaces its
// treatment by another of its setting, where that is better.
func (s *splitSearch) exchange(later [][]int, block []int, i int, better func() bool) bool {
	improved := false
	h := s.p.Plots[block[i]]
	for _, other := range later {
		for j := range other {
			if s.p.Plots[other[j]] != h || other[j] == block[i] || s.left <= 0 {
				continue
			}
			block[i], other[j] = other[j], block[i]
			if better() {
				improved = true
			} else {
				block[i], other[j] = other[j], block[i]
			}
		}
	}
	for _, t := range s.settings[h] {
		if was := block[i]; t != was && s.left > 0 {
			block[i] = t
			if better() {
				improved = true
			} else {
				block[i] = was
			}
		}
	}
	return improved
}

// move exchanges run i of a block with an earlier one of its whole plot, or its whole plot with an
// earlier one, where that is better.
func (s *splitSearch) move(block []int, i int, better func() bool) bool {
	improved := false
	plots := s.p.Plots
	for j := range i {
		if block[i] == block[j] || s.left <= 0 {
			continue
		}
		if plots[block[i]] == plots[block[j]] {
			block[i], block[j] = block[j], block[i]
			if better() {
				improved = true
			} else {
				block[i], block[j] = block[j], block[i]
			}
			continue
		}
		if j > 0 && plots[block[j]] == plots[block[j-1]] || plots[block[i]] == plots[block[i-1]] {
			continue // whole plots are exchanged once, by their first runs
		}
		was := make([]int, len(block))
		exchangePlots(plots, block, was, i, j)
		if better() {
			improved = true
		} else {
			copy(block, was)
		}
	}
	return improved
}

// exchangePlots exchanges the whole plots of a block that hold positions i and j, and leaves what
// the block was in was.
func exchangePlots(plots, block, was []int, i, j int) {
	copy(was, block)
	if plots[block[i]] == plots[block[j]] {
		return
	}
	i, j = min(i, j), max(i, j)
	var first, second [2]int
	for from, to := range information.WholePlots(plots, was) {
		if from <= i && i < to {
			first = [2]int{from, to}
		}
		if from <= j && j < to {
			second = [2]int{from, to}
		}
	}
	at := first[0]
	at += copy(block[at:], was[second[0]:second[1]])
	at += copy(block[at:], was[first[1]:second[0]])
	copy(block[at:], was[first[0]:first[1]])
}
