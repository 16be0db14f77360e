package blocks

import "slices"

// Clone returns a copy of blocks.
func Clone(blocks [][]int) [][]int {
	c := make([][]int, len(blocks))
	for b := range blocks {
		c[b] = slices.Clone(blocks[b])
	}
	return c
}

func copyBlocks(to, blocks [][]int) {
	for b := range to {
		copy(to[b], blocks[b])
	}
}

// Key is a block as text, equal for equal blocks.
func Key(block []int) string {
	b := make([]byte, 0, 2*len(block))
	for _, v := range block {
		b = append(b, byte(v), byte(v>>8))
	}
	return string(b)
}

// complement returns the treatments that a block lacks.
func complement(treatments int, block []int) []int {
	var rest []int
	for t := range treatments {
		if !slices.Contains(block, t) {
			rest = append(rest, t)
		}
	}
	return rest
}
