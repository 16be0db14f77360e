package blocks

import (
	"slices"

	"fairrun/design/lot"
)

// Cyclic designs develop initial blocks by adding each element of a group, mostly the numbers
// modulo T (John, J. A. & Williams, E. R. 1995, Cyclic and Computer Generated Designs, chapter 3).
// If the differences within the initial blocks hold every value equally often, the initial blocks
// are a difference family and the design is balanced.

// group is an abelian group on the treatments 0, …, order − 1; later treatments stay fixed.
type group struct {
	order      int
	add, times func(x, y int) int // times distributes over add
}

// cyclicGroup adds modulo m.
func cyclicGroup(m int) group {
	return group{
		order: m,
		add:   func(x, y int) int { return (x + y) % m },
		times: func(x, y int) int { return x * y % m },
	}
}

// developers returns the groups that designs of so many treatments are developed with: addition
// modulo T, modulo T − 1 with one treatment fixed, and in the field of T elements.
func developers(treatments int) []group {
	groups := []group{cyclicGroup(treatments)}
	if treatments > 3 {
		groups = append(groups, cyclicGroup(treatments-1))
	}
	if f, ok := galois(treatments); ok && f.add[1][1] != 2%treatments {
		groups = append(groups, group{
			order: treatments,
			add:   func(x, y int) int { return f.add[x][y] },
			times: func(x, y int) int { return f.times[x][y] },
		})
	}
	return groups
}

// develop returns the distinct blocks x + s of an initial block, for all s of the group.
func develop(initial []int, g group) [][]int {
	var blocks [][]int
	seen := map[string]bool{}
	for s := range g.order {
		block := make([]int, len(initial))
		for i, v := range initial {
			block[i] = v
			if v < g.order {
				block[i] = g.add(v, s)
			}
		}
		slices.Sort(block)
		if !seen[Key(block)] {
			seen[Key(block)] = true
			blocks = append(blocks, block)
		}
	}
	return blocks
}

// orbits returns, for each orbit of k-subsets of the treatments under the group, its blocks: of all
// subsets if there are at most limit, otherwise of those that some multiplier maps to themselves,
// as it does most known difference sets (Hall, M. 1947, Duke Mathematical Journal 14), as far as
// they are at most limit.
func orbits(treatments, k, limit int, g group) [][][]int {
	var all [][][]int
	seen := map[string]bool{}
	keep := func(block []int) bool {
		if seen[Key(block)] {
			return true
		}
		orbit := develop(block, g)
		for _, b := range orbit {
			seen[Key(b)] = true
		}
		all = append(all, orbit)
		return len(seen) <= limit
	}
	if lot.Binomial(treatments, k) <= limit {
		for block := range lot.Subsets(treatments, k) {
			keep(block)
		}
		return all
	}
	for h := 2; h < min(g.order, maxMultiplier); h++ {
		cycles := multiplierCycles(treatments, h, g)
		if cycles == nil {
			continue
		}
		tried := 0
		var block []int
		var add func(from int) bool
		add = func(from int) bool {
			tried++
			if len(block) == k {
				sorted := slices.Clone(block)
				slices.Sort(sorted)
				return keep(sorted)
			}
			for i := from; i < len(cycles) && tried < limit; i++ {
				if len(block)+len(cycles[i]) <= k {
					block = append(block, cycles[i]...)
					more := add(i + 1)
					block = block[:len(block)-len(cycles[i])]
					if !more {
						return false
					}
				}
			}
			return true
		}
		if !add(0) {
			break
		}
	}
	return all
}

// multiplierCycles returns the cycles of the treatments under multiplication by h, a fixed
// treatment being one of its own; nil if h has no inverse.
func multiplierCycles(treatments, h int, g group) [][]int {
	var cycles [][]int
	seen := make([]bool, treatments)
	for x := range treatments {
		if seen[x] {
			continue
		}
		var cycle []int
		for y := x; !seen[y]; {
			seen[y] = true
			cycle = append(cycle, y)
			if y < g.order {
				y = g.times(y, h)
			}
		}
		if x < g.order && g.times(cycle[len(cycle)-1], h) != x {
			return nil
		}
		cycles = append(cycles, cycle)
	}
	return cycles
}

// maxOrbitSubsets, maxOrbitChoices and maxMultiplier bound the search for the best initial blocks.
const (
	maxOrbitSubsets = 20_000
	maxOrbitChoices = 40_000
	maxMultiplier   = 100
)

// cyclicDesign returns the design of so many blocks of k runs whose orbits under the group together
// share treatments most evenly, by the sum of squared concurrences; nil if orbits of the right
// sizes do not exist or are too many.
func cyclicDesign(treatments, blocks, k int, g group) [][]int {
	choices := orbits(treatments, k, maxOrbitSubsets, g)
	// Concurrences of treatment 0, and of the fixed one, with each treatment; the group carries
	// them to all others.
	profiles := make([][]int, len(choices))
	for i, orbit := range choices {
		profiles[i] = make([]int, 2*treatments)
		for _, block := range orbit {
			for r, of := range []int{0, treatments - 1} {
				if r == 1 && g.order == treatments || !slices.Contains(block, of) {
					continue
				}
				for _, t := range block {
					profiles[i][r*treatments+t]++
				}
			}
		}
	}
	var best, chosen []int
	bestCost, looks := -1, 0
	total := make([]int, 2*treatments)
	var add func(from, left int)
	add = func(from, left int) {
		looks++
		if looks > maxOrbitChoices {
			return
		}
		if left == 0 {
			cost := 0
			for _, v := range total {
				cost += v * v
			}
			if bestCost < 0 || cost < bestCost {
				bestCost, best = cost, slices.Clone(chosen)
			}
			return
		}
		for i := from; i < len(choices); i++ {
			if len(choices[i]) > left {
				continue
			}
			for j, v := range profiles[i] {
				total[j] += v
			}
			chosen = append(chosen, i)
			add(i, left-len(choices[i]))
			chosen = chosen[:len(chosen)-1]
			for j, v := range profiles[i] {
				total[j] -= v
			}
		}
	}
	add(0, blocks)
	var design [][]int
	for _, i := range best {
		design = append(design, choices[i]...)
	}
	return design
}
