package blocks

import (
	"slices"

	"fairrun/design/lot"
)

// Whole plots whose blocks are not alike are drawn at two levels: settings of the hard-to-change
// factors over the blocks, as whole plots, and treatments over the runs within them. Either level
// is a design of its own, of blocks or of rows and columns; how the one lies in the other is then
// improved by exchanging runs, by the variance of all comparisons with blocks and whole plots in
// the model (information.InPlots).

// Settings returns the treatments of each setting.
func (p Spec) Settings() [][]int {
	var s [][]int
	for t, h := range p.Plots {
		for len(s) <= h {
			s = append(s, nil)
		}
		s[h] = append(s[h], t)
	}
	return s
}

// PlotsPerBlock returns the number of whole plots of a block, each of another setting: all settings
// in complete blocks; in incomplete ones as few as hold the runs if whole plots are as long as when
// they hold all treatments of their setting, and at least two.
func (p Spec) PlotsPerBlock() int {
	h := len(p.Settings())
	if p.Runs == 0 {
		return h
	}
	return min(h, max(2, (p.Runs*h+p.Treatments-1)/p.Treatments))
}

// WholePlots returns blocks of whole plots, the given ones first.
func WholePlots(p Spec, given [][]int) ([][]int, error) {
	s := newSplitSearch(p, given)
	return s.design(func(blocks [][]int) [][]int {
		if p.Runs > 0 {
			s.improve(blocks)
			return s.best
		}
		return blocks
	})
}

// WholePlotsOverPositions is WholePlots where drift takes any course over the positions.
func WholePlotsOverPositions(p Spec, given [][]int) ([][]int, error) {
	s := newSplitSearch(p, given)
	s.positions = true
	return s.design(func(blocks [][]int) [][]int {
		s.improve(blocks)
		return s.best
	})
}

// WholePlotNeighbours is WholePlots where each treatment is to follow each other as equally often as can be.
func WholePlotNeighbours(p Spec, given [][]int) ([][]int, error) {
	s := newSplitSearch(p, given)
	s.neighbours = true
	return s.design(func(blocks [][]int) [][]int {
		all := append(slices.Clone(given), blocks...)
		n := newNeighbourSearch(p.Treatments, all)
		n.plots = p.Plots
		n.search(len(given), s.src)
		return all[len(given):]
	})
}

func newSplitSearch(p Spec, given [][]int) *splitSearch {
	return &splitSearch{p: p, given: given, settings: p.Settings(), src: lot.New(0, lot.StreamSearch)}
}

// design returns the given blocks and those that better makes of the first ones, put into sessions.
func (s *splitSearch) design(better func(blocks [][]int) [][]int) ([][]int, error) {
	over, err := s.overBlocks()
	if err != nil {
		return nil, err
	}
	blocks := better(s.within(over))
	if blocks == nil {
		return nil, &UnconnectedError{s.p}
	}
	newSessions(s.p, s.given).arrange(blocks, lot.New(0, lot.StreamSearch))
	return append(slices.Clone(s.given), blocks...), nil
}
