package blocks

import (
	"slices"

	"fairrun/design/lot"
	"fairrun/design/screen"
)

// Incomplete returns blocks of p.Runs runs, the given ones first, whose comparisons have the
// least average variance that was found: the best of the balanced, lattice, alpha and cyclic
// designs that fit, of what an interchange search makes of them, and where that is not balanced of what
// symmetries give. Two-level plans are blocked by confounding (screen.Confound) where that leaves
// main effects clear; among designs as good for main effects otherwise that is taken which mixes least
// of their interactions with blocks. Sessions are a constraint on all of
// them. The same plan has the same blocks.
func Incomplete(p Spec, given [][]int) ([][]int, error) {
	src := lot.New(0, lot.StreamSearch)
	s := newInterchange(p, given)
	blocks := p.Blocks - len(given)
	if design := screen.Confound(p.Effects, blocks, p.Runs); design != nil && s.sessions.arrange(design, src) {
		if s.offer(design); s.mainEffectsClear() {
			return s.result(), nil // words of the highest order are confounded: nothing to gain
		}
	}
	designs := constructions(p.Treatments, blocks, p.Runs, src)
	if p.Session > 0 {
		designs = append(designs, resolvable(p, blocks, src)...)
	}
	for _, design := range designs {
		if s.sessions.arrange(design, src) && s.offer(design) {
			return s.result(), nil
		}
	}
	s.search(blocks, src)
	if !s.atBound() && p.Effects == nil && len(given) == 0 {
		if design := balancedDesign(p.Treatments, blocks, p.Runs); design != nil && s.sessions.arrange(design, src) {
			s.offer(design)
		}
	}
	if s.best == nil {
		if chain := chained(p.Treatments, blocks, p.Runs); s.sessions.arrange(chain, src) {
			s.offer(chain)
		}
	}
	if s.best == nil {
		return nil, &UnconnectedError{p}
	}
	s.sessions.arrange(s.best, src)
	return s.result(), nil
}

// chained returns blocks of k runs that each begin with the treatment that ends the one before.
func chained(treatments, blocks, k int) [][]int {
	design := make([][]int, blocks)
	for b := range design {
		for i := range k {
			design[b] = append(design[b], (b*(k-1)+i)%treatments)
		}
	}
	return design
}

// constructions returns designs of so many blocks of k runs that are likely to be good: the blocks
// hold every treatment as often as it fits, and the rest is a design of its own.
func constructions(treatments, blocks, k int, src *lot.Stream) [][][]int {
	whole, k := k/treatments, k%treatments
	var designs [][][]int
	switch k {
	case 0:
		designs = [][][]int{make([][]int, blocks)}
	case 1:
		one := make([][]int, blocks)
		for b := range one {
			one[b] = []int{b % treatments}
		}
		designs = [][][]int{one}
	default:
		designs = smallConstructions(treatments, blocks, k, src)
	}
	if whole == 0 {
		return designs
	}
	for _, design := range designs {
		for b := range design {
			for range whole {
				design[b] = append(design[b], lot.Identity(treatments)...)
			}
		}
	}
	return designs
}

// smallConstructions is constructions for blocks of 2 ≤ k < T runs.
func smallConstructions(treatments, blocks, k int, src *lot.Stream) [][][]int {
	var designs [][][]int
	add := func(design [][]int) {
		if len(design) == 0 || blocks%len(design) != 0 {
			return
		}
		var all [][]int
		for range blocks / len(design) {
			for _, block := range design {
				all = append(all, slices.Clone(block))
			}
		}
		designs = append(designs, all)
	}
	// All subsets.
	if n := lot.Binomial(treatments, k); n <= blocks && n < lot.ManySubsets && blocks%n == 0 {
		var all [][]int
		for block := range lot.Subsets(treatments, k) {
			all = append(all, slices.Clone(block))
		}
		add(all)
	}
	// The complement of a design with smaller blocks is balanced if that is.
	if small := treatments - k; small < k {
		if small == 1 {
			var all [][]int
			for b := range blocks {
				all = append(all, complement(treatments, []int{b % treatments}))
			}
			add(all)
		} else {
			for _, design := range smallConstructions(treatments, blocks, small, src) {
				var all [][]int
				for _, block := range design {
					all = append(all, complement(treatments, block))
				}
				add(all)
			}
		}
		return designs
	}
	if s := k; s*s == treatments && blocks%s == 0 {
		add(squareLattice(s, blocks/s))
	}
	for _, g := range developers(treatments) {
		add(cyclicDesign(treatments, blocks, k, g))
	}
	if s := treatments / k; s*k == treatments && s > 1 && blocks%s == 0 {
		add(alphaDesign(s, k, blocks/s, src))
	}
	return designs
}
