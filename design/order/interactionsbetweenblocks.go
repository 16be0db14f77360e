package order

import "fairrun/design/screen"

// InteractionsBetweenBlocks returns the interactions of two factors that a drawn order mixes with
// its blocks, those that lose most first; none if all are clear of them. levels holds, for each
// treatment, the number from 0 of its level of each factor. Warm-up runs do not count.
func (d *Drawn) InteractionsBetweenBlocks(levels [][]int) []screen.Interaction {
	warmup := d.Whole().Warmup
	blocks := make([][]int, len(d.Blocks))
	for b, block := range d.Blocks {
		blocks[b] = block[min(warmup, len(block)):]
	}
	return screen.InteractionsBetween(levels, blocks)
}
