package lot

import (
	"math/big"
	"slices"
)

// Arrangements returns the number of orders of one block, n!/(R!)ᵀ.
func Arrangements(treatments, replicates int) Count {
	product := big.NewInt(1)
	var ways big.Int
	for t := 2; t <= treatments; t++ {
		product.Mul(product, ways.Binomial(int64(t*replicates), int64(replicates)))
	}
	return CountOf(product)
}

// Factorial returns T!, the number of orders of T things, as the names of treatments.
func Factorial(treatments int) Count { return Arrangements(treatments, 1) }

// StandardArrangements returns every order of a block in which treatments first appear in the
// order 0, 1, 2, …: one of each T! orders that differ by names alone.
func StandardArrangements(treatments, replicates int) [][]int32 {
	n := treatments * replicates
	left := make([]int, treatments)
	for t := range left {
		left[t] = replicates
	}
	var all [][]int32
	block := make([]int32, 0, n)
	var place func(seen int)
	place = func(seen int) {
		if len(block) == n {
			all = append(all, append([]int32(nil), block...))
			return
		}
		for t := range min(seen+1, treatments) {
			if left[t] == 0 {
				continue
			}
			left[t]--
			block = append(block, int32(t))
			place(max(seen, t+1))
			block = block[:len(block)-1]
			left[t]++
		}
	}
	place(0)
	return all
}

// NextPermutation puts x into the next order in the lexicographic sequence of its
// distinct permutations and reports whether there was one; after the last it
// returns to the first, sorted (Knuth, The Art of Computer Programming 4A, algorithm 7.2.1.2 L).
func NextPermutation(x []int32) bool {
	j := len(x) - 2
	for j >= 0 && x[j] >= x[j+1] {
		j--
	}
	last := j < 0
	if !last {
		k := len(x) - 1
		for x[j] >= x[k] {
			k--
		}
		x[j], x[k] = x[k], x[j]
	}
	for a, b := j+1, len(x)-1; a < b; a, b = a+1, b-1 {
		x[a], x[b] = x[b], x[a]
	}
	return !last
}

// Identity returns 0, 1, …, n−1.
func Identity(n int) []int {
	x := make([]int, n)
	for i := range x {
		x[i] = i
	}
	return x
}

// Permutations returns all orders of 0, 1, …, n−1.
func Permutations(n int) [][]int {
	all := [][]int{{}}
	for k := range n {
		var longer [][]int
		for _, x := range all {
			for at := range k + 1 {
				longer = append(longer, slices.Insert(slices.Clone(x), at, k))
			}
		}
		all = longer
	}
	return all
}

// Subsets yields the k-subsets of 0 … n−1 in lexicographic order. The slice is overwritten.
func Subsets(n, k int) func(yield func([]int) bool) {
	return func(yield func([]int) bool) {
		x := Identity(k)
		for {
			if !yield(x) {
				return
			}
			i := k - 1
			for i >= 0 && x[i] == n-k+i {
				i--
			}
			if i < 0 {
				return
			}
			x[i]++
			for j := i + 1; j < k; j++ {
				x[j] = x[j-1] + 1
			}
		}
	}
}

// Binomial returns n over k, or ManySubsets if it is at least that.
func Binomial(n, k int) int {
	b := int64(1)
	for i := range int64(k) {
		b = b * (int64(n) - i) / (i + 1)
		if b >= ManySubsets {
			return ManySubsets
		}
	}
	return int(b)
}

// ManySubsets is the number from which on Binomial does not count.
const ManySubsets = 1 << 30
