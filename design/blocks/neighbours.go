package blocks

import (
	"slices"

	"fairrun/design/lot"
)

// NeighbourBalanced returns blocks, the given ones first, in which each treatment follows each other
// as equally often as was found: in complete blocks Williams squares as far as they go, and half as many blocks where a
// square is known (see pathsquare.go), if there is one replicate, and blocks found by exchanging runs for the rest.
// Where neighbours are still not as even as numbers allow they are annealed, whatever positions come to. Incomplete blocks are chosen for their comparisons, and the order within them then.
func NeighbourBalanced(p Spec, given [][]int) ([][]int, error) {
	if p.Runs > 0 {
		blocks, err := Incomplete(p, given)
		if err != nil {
			return nil, err
		}
		evenNeighbours(p.Treatments, blocks, len(given))
		return blocks, nil
	}
	blocks := slices.Clone(given)
	square := williams(p.Treatments)
	if p.Replicates == 1 {
		for len(blocks)+len(square) <= p.Blocks {
			blocks = append(blocks, Clone(square)...)
		}
		if path := pathSquare(p.Treatments); len(blocks)+len(path) <= p.Blocks {
			blocks = append(blocks, path...)
		}
	}
	from := len(blocks)
	if from == p.Blocks {
		return blocks, nil
	}
	// Rows of a Williams square repeat no neighbours if there are an even number of treatments.
	for i := 0; len(blocks) < p.Blocks; i++ {
		var block []int
		for r := range p.Replicates {
			block = append(block, square[(i+r)%len(square)]...)
		}
		blocks = append(blocks, block)
	}
	evenNeighbours(p.Treatments, blocks, from)
	return blocks, nil
}

// evenNeighbours puts the runs of the blocks from a given one on in an order that evens out neighbours.
func evenNeighbours(treatments int, blocks [][]int, from int) {
	newNeighbourSearch(treatments, blocks).search(from, lot.New(0, lot.StreamSearch))
	annealNeighbours(treatments, blocks, from, lot.New(0, lot.StreamSearch))
}
