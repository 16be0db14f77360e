package blocks

import "fairrun/design/lot"

// annealing puts the runs of blocks in an order in which neighbours are as even as it finds, whatever
// their positions: it lowers
//
//	Σ over i ≠ j of follows(i, j)² + self·Σ follows(i, i)
//
// by exchanging two runs of a block, or two stretches of a block that lie side by side, which leaves
// all neighbours but three (simulated annealing: Kirkpatrick, S., Gelatt, C. D. & Vecchi, M. P. 1983, Science 220). A step for the worse by
// 2k is taken with probability pᵏ, p falling in a straight line. It is in whole numbers, so that it is
// the same on every platform.
type annealing struct {
	treatments int
	blocks     [][]int
	follows    []int
	self       int
	tmp        []int
}

// annealSteps is the number of steps, and p falls from hottest to coldest parts in 65,536.
const (
	annealSteps = 2_000_000
	hottest     = 16_384
	coldest     = 1_300
)

// neighbourCost returns the cost of blocks, and the least that there can be, with neighbours as even as whole numbers are.
func (a *annealing) neighbourCost() (cost, least int) {
	clear(a.follows)
	all := 0
	for _, block := range a.blocks {
		for i := range block {
			cost += a.pair(block, i, 1)
		}
		all += len(block) - 1
	}
	cells := a.treatments * (a.treatments - 1)
	low, more := all/cells, all%cells
	return cost, more*(low+1)*(low+1) + (cells-more)*low*low
}

// pair adds by to the count of the run at position i after the one before it, and returns the change of the cost.
func (a *annealing) pair(block []int, i, by int) int {
	if i < 1 || i >= len(block) {
		return 0
	}
	x, y := block[i-1], block[i]
	v := &a.follows[x*a.treatments+y]
	was := *v
	*v += by
	if x == y {
		return a.self * by
	}
	return *v**v - was*was
}

// annealNeighbours puts the runs of the blocks from a given one on in a better order, if there is one that it
// finds, and otherwise leaves them.
func annealNeighbours(treatments int, blocks [][]int, from int, src *lot.Stream) {
	a := &annealing{treatments: treatments, blocks: blocks, follows: make([]int, treatments*treatments), tmp: make([]int, len(blocks[0]))}
	a.self = 4 * (len(blocks)*len(blocks[0])/(treatments*(treatments-1)) + 2)
	now, least := a.neighbourCost()
	best, bestCost := Clone(blocks), now
	for step := 0; step < annealSteps && bestCost > least; step++ {
		block := blocks[from+int(src.Below(uint64(len(blocks)-from)))]
		n := uint64(len(block))
		i, j, k := int(src.Below(n)), int(src.Below(n)), int(src.Below(n+1))
		i, j = min(i, j), max(i, j)
		if i == j {
			continue
		}
		exchange := src.Below(2) == 0
		if !exchange {
			i, j, k = min(i, k), max(i, min(j, k)), max(j, k)
			if i == j || j == k {
				continue
			}
		}
		var change int
		if exchange {
			change = a.exchange(block, i, j)
		} else {
			change = a.turn(block, i, j, k)
		}
		if change > 0 && !a.takes(change, step, src) {
			if exchange {
				a.exchange(block, i, j)
			} else {
				a.turn(block, i, i+k-j, k)
			}
			continue
		}
		if now += change; now < bestCost {
			bestCost = now
			copyBlocks(best, blocks)
		}
	}
	copyBlocks(blocks, best)
}

// takes reports whether a step for the worse is taken.
func (a *annealing) takes(change, step int, src *lot.Stream) bool {
	p := uint64(hottest - (hottest-coldest)*step/annealSteps)
	q := uint64(1 << 16)
	for ; change > 0 && q > 0; change -= 2 {
		q = q * p >> 16
	}
	return src.Below(1<<16) < q
}

// exchange exchanges the runs at positions i < j of a block.
func (a *annealing) exchange(block []int, i, j int) int {
	change := a.around(block, i, j, -1)
	block[i], block[j] = block[j], block[i]
	return change + a.around(block, i, j, 1)
}

func (a *annealing) around(block []int, i, j, by int) int {
	change := a.pair(block, i, by) + a.pair(block, i+1, by) + a.pair(block, j+1, by)
	if i+1 < j {
		change += a.pair(block, j, by)
	}
	return change
}

// turn exchanges the stretches of a block from i and from j on, the latter up to before k.
func (a *annealing) turn(block []int, i, j, k int) int {
	change := a.pair(block, i, -1) + a.pair(block, j, -1) + a.pair(block, k, -1)
	first := copy(a.tmp, block[i:j])
	second := copy(block[i:], block[j:k])
	copy(block[i+second:], a.tmp[:first])
	return change + a.pair(block, i, 1) + a.pair(block, i+second, 1) + a.pair(block, k, 1)
}
