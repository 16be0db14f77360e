package order

import (
	"maps"
	"math"
	"slices"

	"fairrun/design/blocks"
	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// incompletePlots are incomplete blocks of whole plots. Whole plots of a block, and runs within them, come
// in any order.
type incompletePlots struct{ plotDesign }

func (k incompletePlots) design(given [][]int) ([][]int, error) {
	return blocks.WholePlots(k.blocks(), given)
}

func (k incompletePlots) within(s *stage) within {
	return newPlotsWithin(k.Spec, k.plotLengths(s.first))
}

func (k incompletePlots) orders(s *stage, n int) lot.Count {
	c := s.blockOrders(n).Log10
	same := map[string]int{}
	for _, block := range split(s.first, k.Runs)[s.from:][:n] {
		plots := 0
		for from, to := range information.WholePlots(k.WholePlots, block) {
			plots++
			c += lot.Factorial(to - from).Log10
			times := map[int]int{}
			for _, t := range block[from:to] {
				times[t]++
			}
			for _, k := range slices.Sorted(maps.Values(times)) {
				c -= lot.Factorial(k).Log10
			}
		}
		c += lot.Factorial(plots).Log10
		held := slices.Clone(block)
		slices.Sort(held)
		same[blocks.Key(held)]++
	}
	for _, k := range slices.Sorted(maps.Values(same)) {
		c -= lot.Factorial(k).Log10
	}
	return lot.Count{Log10: lot.RoundLog(c)}
}

func (k incompletePlots) coarsest(s *stage, blocks int) float64 {
	plots := lot.Factorial(k.plotsPerBlock()).Log10
	return math.Pow(10, min(300, float64(blocks-1)*plots+s.blockOrders(blocks).Log10-lot.Factorial(len(k.settings())).Log10))
}
