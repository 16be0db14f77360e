package order

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// wholePlots are complete blocks in which the runs of a setting of the hard-to-change factors stay
// together. Whole plots of a block, and runs within them, come in any order.
type wholePlots struct{ defaults }

func (k wholePlots) design([][]int) ([][]int, error) {
	return k.blocksOf(slices.Concat(k.settings()...)), nil
}

func (k wholePlots) within(s *stage) within {
	return newPlotsWithin(k.Spec, k.plotLengths(s.first))
}

func (k wholePlots) holds(flat []int32) error { return k.together(flat) }

func (k wholePlots) orders(s *stage, blocks int) lot.Count {
	plots := k.plotLengths(s.first)[0]
	c := lot.Factorial(len(plots))
	for _, runs := range plots {
		c = c.Times(lot.Arrangements(runs/k.Replicates, k.Replicates))
	}
	return c.Power(blocks)
}

func (k wholePlots) coarsest(s *stage, blocks int) float64 {
	return math.Pow(10, float64(blocks-1)*lot.Factorial(k.plotsPerBlock()).Log10)
}

// plotLengths returns the number of runs of each whole plot of each block of an order.
func (p Spec) plotLengths(order []int32) [][]int {
	n := p.runsPerBlock()
	lengths := make([][]int, len(order)/n)
	for b := range lengths {
		for from, to := range information.WholePlots(p.WholePlots, order[b*n:(b+1)*n]) {
			lengths[b] = append(lengths[b], to-from)
		}
	}
	return lengths
}

// together returns an error if the runs of some whole plot do not stand together in a block.
func (p Spec) together(flat []int32) error {
	n := p.runsPerBlock()
	seen := make([]int, p.Treatments) // block, from 1, in which a setting was met last
	for at := 0; at < len(flat); at += n {
		block := flat[at : at+n]
		for from := range information.WholePlots(p.WholePlots, block) {
			h := p.WholePlots[block[from]]
			if seen[h] == at/n+1 {
				return fmt.Errorf("a whole plot is broken up")
			}
			seen[h] = at/n + 1
		}
	}
	return nil
}
