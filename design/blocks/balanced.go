package blocks

import "fairrun/design/lot"

// Balanced designs with a group of symmetries. A group acts on the treatments, and the blocks are
// whole orbits under it, so that it is enough to choose one block of each such that of each orbit
// of pairs of treatments λ times its pairs are met (Kramer, E. S. & Mesner, D. M. 1976, Discrete
// Mathematics 15, 263–296). With an abelian group on the treatments themselves that is a
// difference family; with a group on several copies of itself and some fixed treatments, the
// mixed differences of Bose, R. C. (1939, Annals of Eugenics 9, 353–399).

// mostBalanced and mostBalancedBlocks are the most treatments and blocks for which base blocks are
// searched for; mostShort bounds the blocks that some symmetry maps to themselves.
const (
	mostBalanced       = 40
	mostBalancedBlocks = 150
	mostShort          = 20_000
)

// passes bound the work with each group and with all, in about the treatments that are tried in
// blocks: first a little with every group, then more with the largest.
var passes = [...]struct{ each, all int }{{120_000, 4_000_000}, {3_000_000, 10_000_000}}

// balancedDesign returns a balanced design of so many blocks of k runs, nil if none is found: that of
// fewer blocks, several times, or one that is new.
func balancedDesign(treatments, blocks, k int) [][]int {
	whole, k := k/treatments, k%treatments
	for times := blocks / treatments; times > 0; times-- {
		if blocks%times != 0 {
			continue
		}
		part := balancedBlocks(treatments, blocks/times, k)
		if part == nil {
			continue
		}
		var design [][]int
		for range times {
			design = append(design, Clone(part)...)
		}
		for b := range design {
			for range whole {
				design[b] = append(design[b], lot.Identity(treatments)...)
			}
		}
		return design
	}
	return nil
}

// balancedBlocks returns a balanced design of so many blocks of k < T treatments, nil if none is found.
func balancedBlocks(treatments, blocks, k int) [][]int {
	r, lambda := blocks*k/treatments, blocks*k*(k-1)/(treatments*(treatments-1))
	if blocks*k%treatments != 0 || r*(k-1) != lambda*(treatments-1) || blocks < treatments ||
		treatments > mostBalanced || blocks > mostBalancedBlocks || k < 3 || k > treatments-3 {
		return nil
	}
	if blocks == treatments && !maySymmetric(treatments, k, lambda) ||
		r == k+lambda && lambda <= 2 && !maySymmetric(treatments+r, r, lambda) {
		return nil // the second by Hall, M. & Connor, W. S. 1954, Canadian Journal of Mathematics 6
	}
	if small := treatments - k; small < k {
		design := balancedBlocks(treatments, blocks, small)
		for b, block := range design {
			design[b] = complement(treatments, block)
		}
		return design
	}
	switch [3]int{treatments, blocks, k} {
	case [3]int{25, 25, 9}:
		return fromBaseBlocks(act(cyclicGroup(3), 8, 1, 1, 1), blocks25)
	case [3]int{31, 31, 10}:
		return fromBaseBlocks(act(cyclicGroup(7), 4, 3, 3, 3), blocks31)
	}
	groups := actions(treatments)
	for _, pass := range passes {
		left := pass.all
		for _, g := range groups {
			steps := min(left, pass.each)
			s := newBaseBlocks(g, treatments, blocks, k, lambda, steps)
			if s.search(blocks) {
				return s.design()
			}
			if left -= steps - max(0, s.left); left <= 0 {
				break
			}
		}
	}
	return nil
}

// maySymmetric reports whether as many treatments as blocks pass the test of Bruck, Ryser and Chowla
// (Chowla, S. & Ryser, H. J. 1950, Canadian Journal of Mathematics 2): k − λ is a square if they are an
// even number T, and otherwise z² = (k − λ)x² ± λy² has a solution in whole numbers, with the sign
// of (−1)^((T−1)/2). If it has one it has a small one (Holzer, L. 1950, same journal).
func maySymmetric(treatments, k, lambda int) bool {
	n := k - lambda
	square := func(v int) bool {
		root := 0
		for root*root < v {
			root++
		}
		return root*root == v
	}
	if treatments%2 == 0 {
		return square(n)
	}
	sign := 1
	if treatments%4 == 3 {
		sign = -1
	}
	for x := range k + 1 {
		for y := range k + 1 {
			if x+y > 0 && square(n*x*x+sign*lambda*y*y) {
				return true
			}
		}
	}
	return false
}

// blocks25 are base blocks of a design of 25 treatments in 25 blocks of 9, under addition modulo 3 on
// eight copies and a fixed treatment, which the search does not find: any two of its blocks share
// three treatments, which leaves 87,480 blocks to choose from, apart from that of the first three
// copies, and of these eight that go together were found by going through them.
var blocks25 = [][]int{
	{0, 1, 2, 3, 4, 5, 6, 7, 8},
	{1, 2, 6, 9, 12, 16, 17, 18, 24},
	{0, 3, 4, 9, 13, 16, 21, 22, 24},
	{5, 7, 8, 9, 14, 18, 19, 21, 24},
	{1, 3, 7, 12, 13, 14, 17, 20, 21},
	{0, 5, 6, 15, 17, 18, 20, 21, 22},
	{2, 6, 7, 10, 11, 14, 16, 21, 22},
	{0, 1, 4, 10, 11, 12, 18, 19, 21},
	{3, 5, 8, 10, 11, 13, 16, 17, 18},
}

// blocks31 are base blocks of a design of 31 treatments in 31 blocks of 10, under addition modulo 7 on
// four copies, tripling with the first three taken round, and three fixed treatments, which are taken round too;
// found by the search in some seconds.
var blocks31 = [][]int{
	{0, 1, 2, 3, 4, 5, 6, 28, 29, 30},
	{0, 1, 6, 7, 10, 11, 14, 16, 19, 21},
	{1, 6, 8, 13, 17, 18, 21, 24, 25, 28},
}

// fromBaseBlocks returns the orbits of blocks.
func fromBaseBlocks(g action, blocks [][]int) [][]int {
	s := &baseBlocks{g: g}
	for _, block := range blocks {
		var set uint64
		for _, t := range block {
			set |= 1 << t
		}
		s.chosen = append(s.chosen, set)
	}
	return s.design()
}
