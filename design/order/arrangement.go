package order

import "math/big"

// arrangements returns the number of orders of one block, n!/(R!)ᵀ.
func arrangements(treatments, replicates int) Count {
	product := big.NewInt(1)
	var ways big.Int
	for t := 2; t <= treatments; t++ {
		product.Mul(product, ways.Binomial(int64(t*replicates), int64(replicates)))
	}
	return countOf(product)
}

// relabellings returns T!, the number of ways to exchange the names of treatments.
func relabellings(treatments int) Count { return arrangements(treatments, 1) }

// standardArrangements returns every order of a block in which treatments first appear in the
// order 0, 1, 2, …: one of each T! orders that differ by names alone.
func standardArrangements(treatments, replicates int) [][]int32 {
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

// nextPermutation puts x into the next order in the lexicographic sequence of its
// distinct permutations and reports whether there was one; after the last it
// returns to the first, sorted (Knuth, The Art of Computer Programming 4A, algorithm 7.2.1.2 L).
func nextPermutation(x []int32) bool {
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
