package order

import (
	"maps"
	"math"
	"slices"

	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// exchanges returns at least how many orders exchanging names, blocks and positions gives.
func (s *stage) exchanges() lot.Count {
	p := s.plan
	design := split(s.first, p.runsPerBlock())
	// Names and blocks: orders of the same design with other names and blocks are different unless
	// an exchange of names permutes blocks. Names that do, and equal blocks, are divided out.
	namings := s.kind.names().count()
	c := namings.Log10 + s.blockOrders(p.Blocks).Log10
	times := map[string]int{}
	for _, block := range design {
		times[blocks.Key(block)]++
	}
	for _, n := range slices.Sorted(maps.Values(times)) {
		c -= lot.Factorial(n).Log10
	}
	return lot.Count{Log10: lot.RoundLog(c - p.symmetries(design, namings).Log10)}
}

// symmetries returns the number of exchanges of names that permute the blocks of a design. The
// first block must go to some block, which settles the names of its treatments; if it does not hold
// all, the number is bounded from above by all exchanges of names.
func (p Spec) symmetries(design [][]int, namings lot.Count) lot.Count {
	treatments := p.Treatments
	if held := slices.Compact(slices.Sorted(slices.Values(design[0]))); len(held) < treatments {
		return namings
	}
	have := map[string]int{}
	for _, block := range design {
		have[blocks.Key(block)]++
	}
	found := map[string]bool{}
	for _, to := range design {
		name := make([]int, treatments)
		for i, t := range design[0] {
			name[t] = to[i]
		}
		images := map[string]int{}
		for _, block := range design {
			image := make([]int, len(block))
			for i, t := range block {
				image[i] = name[t]
			}
			images[blocks.Key(image)]++
		}
		if maps.Equal(images, have) {
			found[blocks.Key(name)] = true
		}
	}
	return lot.Count{Exact: uint64(len(found)), Log10: math.Log10(float64(len(found)))}
}
