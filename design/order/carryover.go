package order

import (
	"maps"
	"math"
	"slices"

	"fairrun/design/lot"
)

// williams returns T sequences of T treatments, or 2T if T is odd, in which each treatment follows
// each other once, or twice if T is odd, and stands once, or twice, at each position (Williams, E.
// J. 1949, Australian Journal of Scientific Research A 2). The first sequence is 0, T−1, 1, T−2, 2,
// …, whose differences are all different when T is even; the others add 1, 2, … modulo T to it. For
// odd T the reversed sequences make up the other half.
func williams(treatments int) [][]int {
	first := make([]int, treatments)
	for i := range first {
		if i%2 == 1 {
			first[i] = treatments - (i+1)/2
		} else {
			first[i] = i / 2
		}
	}
	var square [][]int
	for s := range treatments {
		row := make([]int, treatments)
		for i, v := range first {
			row[i] = (v + s) % treatments
		}
		square = append(square, row)
	}
	if treatments%2 == 1 {
		for s := range treatments {
			row := slices.Clone(square[s])
			slices.Reverse(row)
			square = append(square, row)
		}
	}
	return square
}

// Neighbours returns how often treatment j comes directly after treatment i within a block, by i and j.
func Neighbours(treatments int, blocks [][]int) [][]int {
	follows := make([][]int, treatments)
	for i := range follows {
		follows[i] = make([]int, treatments)
	}
	for _, block := range blocks {
		for i := range len(block) - 1 {
			follows[block[i]][block[i+1]]++
		}
	}
	return follows
}

// NeighbourRange returns the least and the most often that a treatment comes directly after another
// within a block of the order, over all ordered pairs. Only runs that are drawn count: a
// reference run parts those on either side of it.
func (d *Drawn) NeighbourRange() (least, most int) {
	p := d.Whole()
	roles := p.Roles()
	follows := make([]int, p.Treatments*p.Treatments)
	for _, block := range d.Blocks {
		for i := 1; i < len(block); i++ {
			if roles[i] == RoleDrawn && roles[i-1] == RoleDrawn {
				follows[block[i-1]*p.Treatments+block[i]]++
			}
		}
	}
	least = d.Plan.runs() + len(d.Blocks)*len(roles)
	for i, n := range follows {
		if i/p.Treatments != i%p.Treatments {
			least, most = min(least, n), max(most, n)
		}
	}
	return least, most
}

// neighbourBalanced returns blocks, the given ones first, in which each treatment follows each other
// as equally often as was found: in complete blocks Williams squares as far as they go, and half as many blocks where a
// square is known (see pathsquare.go), if there is one replicate, and blocks found by exchanging runs for the rest.
// Where neighbours are still not as even as numbers allow they are annealed, whatever positions come to. Reference runs put positions first
// (see carryreference.go). Incomplete blocks are chosen for their comparisons, and the order within them then.
func neighbourBalanced(p Spec, given [][]int) ([][]int, error) {
	if len(p.Reference) > 0 {
		return referenceBalanced(p, given)
	}
	if p.Runs > 0 {
		blocks, err := incompleteBlocks(p, given)
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
			blocks = append(blocks, cloneBlocks(square)...)
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
		for from, to := range wholePlots(s.plots, slices.Clone(block)) {
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
	best, bestCost := cloneBlocks(s.blocks), s.cost()
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

func copyBlocks(to, blocks [][]int) {
	for b := range to {
		copy(to[b], blocks[b])
	}
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

// exchanges returns at least how many orders exchanging names, blocks and positions gives.
func (s *stage) exchanges() lot.Count {
	p := s.plan
	if squares := s.freshSquares(); squares > 0 {
		return squaresOf(p.Treatments).Power(squares)
	}
	blocks := split(s.first, p.runsPerBlock())
	// Names and blocks: orders of the same design with other names and blocks are different unless
	// an exchange of names permutes blocks. Names that do, and equal blocks, are divided out.
	c := p.namings().Log10 + s.blockOrders(p.Blocks).Log10
	times := map[string]int{}
	for _, block := range blocks {
		times[key(block)]++
	}
	for _, n := range slices.Sorted(maps.Values(times)) {
		c -= lot.Factorial(n).Log10
	}
	return lot.Count{Log10: lot.RoundLog(c - p.symmetries(blocks).Log10)}
}

// symmetries returns the number of exchanges of names that permute the blocks of a design. The
// first block must go to some block, which settles the names of its treatments; if it does not hold
// all, the number is bounded from above by all exchanges of names.
func (p Spec) symmetries(blocks [][]int) lot.Count {
	treatments := p.Treatments
	if held := slices.Compact(slices.Sorted(slices.Values(blocks[0]))); len(held) < treatments {
		return p.namings()
	}
	have := map[string]int{}
	for _, block := range blocks {
		have[key(block)]++
	}
	found := map[string]bool{}
	for _, to := range blocks {
		name := make([]int, treatments)
		for i, t := range blocks[0] {
			name[t] = to[i]
		}
		images := map[string]int{}
		for _, block := range blocks {
			image := make([]int, len(block))
			for i, t := range block {
				image[i] = name[t]
			}
			images[key(image)]++
		}
		if maps.Equal(images, have) {
			found[key(name)] = true
		}
	}
	return lot.Count{Exact: uint64(len(found)), Log10: math.Log10(float64(len(found)))}
}
