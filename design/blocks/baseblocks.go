package blocks

import (
	"fmt"
	"math/bits"
	"slices"
)

// baseBlocks searches for blocks, as sets of treatments, whose orbits together meet all pairs
// equally often.
type baseBlocks struct {
	g     action
	k     int
	left  int     // steps
	orbit [][]int // orbit of each pair
	pair  [][2]int
	need  []int // for each orbit of pairs, how often its pairs are still to be met in all
	short []shortBlock

	chosen []uint64
	made   []uint64 // all blocks of the orbits chosen, where common is not 0
	common int      // treatments that any two blocks share, where there are as many blocks as treatments; otherwise 0
	count  []int    // of the block being made: its pairs of each orbit
	block  []int
}

// shortBlock is a block that some symmetry maps to itself, so that its orbit is short.
type shortBlock struct {
	set    uint64
	blocks int
	count  []int
}

func newBaseBlocks(g action, treatments, blocks, k, lambda, steps int) *baseBlocks {
	s := &baseBlocks{g: g, k: k, left: steps}
	if blocks == treatments {
		s.common = lambda
	}
	s.orbit = make([][]int, treatments)
	for x := range s.orbit {
		s.orbit[x] = make([]int, treatments)
		for y := range s.orbit[x] {
			s.orbit[x][y] = -1
		}
	}
	for x := range treatments {
		for y := range x {
			if s.orbit[x][y] >= 0 {
				continue
			}
			id := len(s.pair)
			s.pair = append(s.pair, [2]int{x, y})
			s.need = append(s.need, 0)
			for _, p := range g {
				if a, b := p[x], p[y]; s.orbit[a][b] < 0 {
					s.orbit[a][b], s.orbit[b][a] = id, id
					s.need[id] += lambda
				}
			}
		}
	}
	s.count = make([]int, len(s.pair))
	s.findShort(treatments)
	return s
}

// findShort lists the blocks that a symmetry of prime order maps to themselves: unions of its cycles.
func (s *baseBlocks) findShort(treatments int) {
	seen := map[uint64]bool{}
	looked := map[string]bool{} // symmetries by their cycles
	for _, p := range s.g {
		cycles, order := cyclesOf(p)
		if order < 2 || !isPrime(order) {
			continue
		}
		name := fmt.Sprint(cycles)
		if looked[name] {
			continue
		}
		looked[name] = true
		var add func(from int, set uint64)
		add = func(from int, set uint64) {
			if s.left--; s.left < 0 || len(s.short) >= mostShort {
				return
			}
			switch size := bits.OnesCount64(set); {
			case size == s.k:
				// Of each orbit the block that is least as a number stands for all.
				if same := s.stabiliser(set); same > 0 && !seen[set] {
					seen[set] = true
					s.short = append(s.short, shortBlock{set, len(s.g) / same, s.pairs(set)})
				}
				return
			case size > s.k:
				return
			}
			for i := from; i < len(cycles); i++ {
				add(i+1, set|cycles[i])
			}
		}
		add(0, 0)
	}
}

// cyclesOf returns the cycles of a permutation and its order.
func cyclesOf(p []int) (cycles []uint64, order int) {
	order = 1
	var seen uint64
	for x := range p {
		var cycle uint64
		length := 0
		for y := x; seen>>y&1 == 0; y = p[y] {
			seen |= 1 << y
			cycle |= 1 << y
			length++
		}
		if length > 0 {
			cycles = append(cycles, cycle)
			order = max(order, length) // the same for all but 1 where the order is a prime
		}
	}
	for _, cycle := range cycles {
		if n := bits.OnesCount64(cycle); n > 1 && n != order {
			return nil, 0
		}
	}
	return cycles, order
}

func isPrime(n int) bool {
	for d := 2; d*d <= n; d++ {
		if n%d == 0 {
			return false
		}
	}
	return n > 1
}

// image returns what a permutation makes of a block.
func image(p []int, set uint64) uint64 {
	var to uint64
	for ; set > 0; set &= set - 1 {
		to |= 1 << p[bits.TrailingZeros64(set)]
	}
	return to
}

// stabiliser returns the number of symmetries that map a block to itself; 0 if one maps it to a block
// that is less, as a number.
func (s *baseBlocks) stabiliser(set uint64) int {
	same := 0
	for i, p := range s.g {
		to := image(p, set)
		if to < set {
			s.left -= i / 2
			return 0
		}
		if to == set {
			same++
		}
	}
	s.left -= len(s.g) / 2
	return same
}

// fullOrbit reports whether no symmetry but the identity maps a block to itself.
func (s *baseBlocks) fullOrbit(set uint64) bool {
	s.left -= len(s.g) / 2
	same := 0
	for _, p := range s.g {
		if image(p, set) == set {
			same++
		}
	}
	return same == 1
}

// images returns the orbit of a block, in rising order.
func (s *baseBlocks) images(set uint64) []uint64 {
	all := make([]uint64, len(s.g))
	for i, p := range s.g {
		all[i] = image(p, set)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// pairs counts the pairs of a block by orbit.
func (s *baseBlocks) pairs(set uint64) []int {
	count := make([]int, len(s.pair))
	block := elements(set)
	for i, x := range block {
		for _, y := range block[:i] {
			count[s.orbit[x][y]]++
		}
	}
	return count
}

func elements(set uint64) []int {
	var all []int
	for ; set > 0; set &= set - 1 {
		all = append(all, bits.TrailingZeros64(set))
	}
	return all
}

// search completes the design by so many blocks: the first pair that is not met often enough must be
// in a further one.
func (s *baseBlocks) search(blocks int) bool {
	if blocks == 0 {
		return true
	}
	id := -1
	for i, n := range s.need {
		if n > 0 && (id < 0 || n < s.need[id]) {
			id = i
		}
	}
	if id < 0 {
		return false
	}
	for _, b := range s.short {
		if s.left -= 1 + len(s.need)/16; s.left < 0 {
			return false
		}
		if b.count[id] == 0 || b.blocks > blocks || !s.fits(b.count, b.blocks) {
			continue
		}
		if s.take(b.set, b.count, b.blocks, blocks) {
			return true
		}
	}
	if len(s.g) > blocks {
		return false
	}
	x, y := s.pair[id][0], s.pair[id][1]
	outer, count := s.block, s.count
	s.block, s.count = []int{x, y}, make([]int, len(s.pair))
	s.count[id]++
	found := s.count[id]*len(s.g) <= s.need[id] && s.extend(0, 1<<x|1<<y, blocks)
	s.block, s.count = outer, count
	return found
}

// extend adds treatments from the given one on to the block being made.
func (s *baseBlocks) extend(from int, set uint64, blocks int) bool {
	if !s.sharesAtMost(set) {
		return false
	}
	if len(s.block) == s.k {
		if !s.fullOrbit(set) {
			return false
		}
		return s.take(set, slices.Clone(s.count), len(s.g), blocks)
	}
	for z := from; z < len(s.orbit); z++ {
		if set>>z&1 == 1 {
			continue
		}
		if s.left--; s.left < 0 {
			return false
		}
		met := 0
		for _, x := range s.block {
			id := s.orbit[x][z]
			s.count[id]++
			met++
			if s.count[id]*len(s.g) > s.need[id] {
				break
			}
		}
		last := s.block[met-1]
		if met == len(s.block) && s.count[s.orbit[last][z]]*len(s.g) <= s.need[s.orbit[last][z]] {
			s.block = append(s.block, z)
			found := s.extend(z+1, set|1<<z, blocks)
			s.block = s.block[:len(s.block)-1]
			if found {
				return true
			}
		}
		for _, x := range s.block[:met] {
			s.count[s.orbit[x][z]]--
		}
	}
	return false
}

// sharesAtMost reports whether a block, or part of one, shares no more treatments with those made
// than any two blocks do.
func (s *baseBlocks) sharesAtMost(set uint64) bool {
	if s.common == 0 {
		return true
	}
	s.left -= len(s.made) / 4
	for _, b := range s.made {
		if bits.OnesCount64(set&b) > s.common {
			return false
		}
	}
	return true
}

// shares reports whether the blocks of an orbit share with each other and with those made as many
// treatments as any two blocks do; it is enough to look at one of them.
func (s *baseBlocks) shares(images []uint64) bool {
	s.left -= len(s.g) + len(s.made)/4
	for i, b := range images {
		if i > 0 && bits.OnesCount64(b&images[0]) != s.common {
			return false
		}
	}
	for _, b := range s.made {
		if bits.OnesCount64(b&images[0]) != s.common {
			return false
		}
	}
	return true
}

func (s *baseBlocks) fits(count []int, blocks int) bool {
	for i, n := range count {
		if n*blocks > s.need[i] {
			return false
		}
	}
	return true
}

// take takes the orbit of a block, of so many blocks, and goes on.
func (s *baseBlocks) take(set uint64, count []int, orbit, blocks int) bool {
	var images []uint64
	if s.common > 0 {
		if images = s.images(set); !s.shares(images) {
			return false
		}
	}
	for i, n := range count {
		s.need[i] -= n * orbit
	}
	s.chosen = append(s.chosen, set)
	s.made = append(s.made, images...)
	if s.search(blocks - orbit) {
		return true
	}
	s.chosen = s.chosen[:len(s.chosen)-1]
	s.made = s.made[:len(s.made)-len(images)]
	for i, n := range count {
		s.need[i] += n * orbit
	}
	return false
}

// design returns all blocks.
func (s *baseBlocks) design() [][]int {
	var all [][]int
	for _, set := range s.chosen {
		for _, image := range s.images(set) {
			all = append(all, elements(image))
		}
	}
	return all
}
