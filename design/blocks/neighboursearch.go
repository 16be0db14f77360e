package blocks

import (
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// neighbourSearch exchanges runs within blocks to lower
//
//	weight·(Σ over i ≠ j of follows(i, j)² + self·Σ follows(i, i)) + Σ at(i, position)²,
//
// that is: first neighbours, a treatment after itself being the worst, and then positions. Where
// whole plots stay together, their settings are neighbours too, and Σ over i ≠ j of
// weight·(settings i followed by j)² is added.
type neighbourSearch struct {
	treatments, length int
	blocks             [][]int
	plots              []int // setting of each treatment, nil without whole plots
	follows            []int // by treatment and the one after it
	plotFollows        []int // by setting and the one after it
	at                 []int // by treatment and position
	self, weight       int

	was   []int // the block before the last exchange of whole plots
	moved bool  // the last exchange was of whole plots
}

// neighbourSteps is the number of exchanges looked at in all, and neighbourRunSteps that from each
// start for each run, up to a sixth of all. For two thirds of the steps from a start exchanges may
// be for the worse. One step in wholePlotStep exchanges whole plots of a block, another the runs of
// whole plots of two blocks, which for so many runs of a block as plotStepRuns take as long as the
// other steps.
const (
	neighbourSteps    = 900_000
	neighbourRunSteps = 500
	wholePlotStep     = 8
	plotStepRuns      = 16
)

func newNeighbourSearch(treatments int, blocks [][]int) *neighbourSearch {
	s := &neighbourSearch{treatments: treatments, length: len(blocks[0]), blocks: blocks}
	s.follows = make([]int, treatments*treatments)
	s.plotFollows = make([]int, treatments*treatments)
	s.at = make([]int, treatments*s.length)
	// More than one pair more can add, and more than positions can gain by an exchange.
	s.self = 4 * (len(blocks)*s.length/(treatments*(treatments-1)) + 2)
	s.weight = 4*len(blocks) + 5
	s.count()
	return s
}

func (s *neighbourSearch) count() {
	clear(s.follows)
	clear(s.plotFollows)
	clear(s.at)
	for _, block := range s.blocks {
		for i, t := range block {
			s.at[t*s.length+i]++
			if i > 0 {
				s.pair(block[i-1], t, 1)
			}
		}
	}
}

func (s *neighbourSearch) cost() int {
	sum := 0
	for i := range s.treatments {
		for j := range s.treatments {
			v := s.follows[i*s.treatments+j]
			if i == j {
				sum += s.weight * s.self * v
			} else {
				sum += s.weight * v * v
			}
		}
	}
	for _, v := range s.plotFollows {
		sum += s.weight * v * v
	}
	for _, v := range s.at {
		sum += v * v
	}
	return sum
}

// pair adds by to the count of y after x and returns the change of the cost.
func (s *neighbourSearch) pair(x, y, by int) int {
	v := &s.follows[x*s.treatments+y]
	was := *v
	*v += by
	if x == y {
		return s.weight * s.self * by
	}
	change := *v**v - was*was
	if s.plots != nil && s.plots[x] != s.plots[y] {
		v := &s.plotFollows[s.plots[x]*s.treatments+s.plots[y]]
		was := *v
		*v += by
		change += *v**v - was*was
	}
	return s.weight * change
}

// place adds by to the count of x at position i and returns the change of the cost.
func (s *neighbourSearch) place(x, i, by int) int {
	v := &s.at[x*s.length+i]
	was := *v
	*v += by
	return *v**v - was*was
}

// exchange exchanges the runs at positions i < j of a block, or their whole plots, and returns the
// change of the cost.
func (s *neighbourSearch) exchange(block []int, i, j int) int {
	if s.moved = s.plots != nil && s.plots[block[i]] != s.plots[block[j]]; s.moved {
		change := s.whole(block, -1)
		exchangePlots(s.plots, block, s.was, i, j)
		return change + s.whole(block, 1)
	}
	change := s.around(block, i, j, -1)
	block[i], block[j] = block[j], block[i]
	return change + s.around(block, i, j, 1)
}

// undo takes an exchange of the runs at positions i < j back.
func (s *neighbourSearch) undo(block []int, i, j int) {
	if s.moved {
		s.whole(block, -1)
		copy(block, s.was)
		s.whole(block, 1)
		return
	}
	s.exchange(block, i, j)
}

// exchangeBetween exchanges the runs of a setting in one block with those in another and returns the
// change of the cost.
func (s *neighbourSearch) exchangeBetween(a, b []int, setting int) int {
	if &a[0] == &b[0] {
		return 0
	}
	change := s.whole(a, -1) + s.whole(b, -1)
	i, j := 0, 0
	for s.plots[a[i]] != setting {
		i++
	}
	for s.plots[b[j]] != setting {
		j++
	}
	for ; i < len(a) && s.plots[a[i]] == setting; i, j = i+1, j+1 {
		a[i], b[j] = b[j], a[i]
	}
	return change + s.whole(a, 1) + s.whole(b, 1)
}

// inPlot returns a position of the whole plot that holds position i.
func (s *neighbourSearch) inPlot(src *lot.Stream, block []int, i int) int {
	from, to := i, i+1
	for from > 0 && s.plots[block[from-1]] == s.plots[block[i]] {
		from--
	}
	for to < len(block) && s.plots[block[to]] == s.plots[block[i]] {
		to++
	}
	return from + int(src.Below(uint64(to-from)))
}

// whole adds by to all counts in which a block has a part.
func (s *neighbourSearch) whole(block []int, by int) int {
	change := 0
	for i, t := range block {
		change += s.place(t, i, by)
		if i > 0 {
			change += s.pair(block[i-1], t, by)
		}
	}
	return change
}

// shuffle puts a block in random order.
func (s *neighbourSearch) shuffle(src *lot.Stream, block []int) {
	if s.plots != nil {
		for from, to := range information.WholePlots(s.plots, slices.Clone(block)) {
			lot.Shuffle(src, block[from:to])
		}
		for range block {
			exchangePlots(s.plots, block, s.was, int(src.Below(uint64(len(block)))), int(src.Below(uint64(len(block)))))
		}
		return
	}
	lot.Shuffle(src, block)
}

// around adds by to all counts in which positions i < j have a part.
func (s *neighbourSearch) around(block []int, i, j, by int) int {
	change := s.place(block[i], i, by) + s.place(block[j], j, by)
	for k, at := range [...]int{i, i + 1, j, j + 1} {
		if at == 0 || at == len(block) || k == 2 && i+1 == j {
			continue // no neighbour, or counted as i + 1
		}
		change += s.pair(block[at-1], block[at], by)
	}
	return change
}

// search leaves the best arrangement found of the blocks from the given one on, by threshold
// accepting; the first start is what they are.
func (s *neighbourSearch) search(from int, src *lot.Stream) {
	if s.plots != nil {
		s.was = make([]int, s.length)
		s.count()
	}
	best, bestCost := Clone(s.blocks), s.cost()
	blocks, open := uint64(len(s.blocks)-from), uint64(s.length)
	all := neighbourSteps
	if s.plots != nil {
		all /= 1 + s.length/plotStepRuns
	}
	steps := min(all/6, neighbourRunSteps*len(s.blocks)*s.length)
	for start := 0; start < all/steps && bestCost > s.least(); start++ {
		if start > 0 {
			for _, block := range s.blocks[from:] {
				s.shuffle(src, block)
			}
			s.count()
		}
		now := s.cost()
		for step := range steps {
			block := s.blocks[from+int(src.Below(blocks))]
			i, j := int(src.Below(open)), int(src.Below(open))
			limit := 3 * s.weight * (2*steps - 3*step) / (2 * steps)
			if s.plots != nil {
				if start == 0 {
					limit = 0 // whole plots are balanced in themselves as they are
				}
				switch src.Below(wholePlotStep) {
				case 0: // whole plots, or runs, of a block
				case 1:
					other := s.blocks[from+int(src.Below(blocks))]
					if change := s.exchangeBetween(block, other, s.plots[block[i]]); change > max(0, limit) {
						s.exchangeBetween(block, other, s.plots[block[i]])
					} else {
						now += change
					}
					j = i
				default:
					j = s.inPlot(src, block, i)
				}
			}
			if block[i] == block[j] {
				if now < bestCost {
					bestCost = now
					copyBlocks(best, s.blocks)
				}
				continue
			}
			i, j = min(i, j), max(i, j)
			change := s.exchange(block, i, j)
			if change > max(0, limit) {
				s.undo(block, i, j)
				continue
			}
			now += change
			if now < bestCost {
				bestCost = now
				copyBlocks(best, s.blocks)
			}
		}
	}
	copyBlocks(s.blocks, best)
}

// least returns a lower bound of the cost: neighbours and positions as even as whole numbers can be.
func (s *neighbourSearch) least() int {
	even := func(total, cells int) int {
		low, more := total/cells, total%cells
		return more*(low+1)*(low+1) + (cells-more)*low*low
	}
	t, b := s.treatments, len(s.blocks)
	return s.weight*even(b*(s.length-1), t*(t-1)) + even(b*s.length, t*s.length)
}
