package blocks

import "fairrun/design/lot"

// alphaDesign returns a resolvable design for s·k treatments in blocks of k: so many replicates of
// s blocks, developed modulo s from an array of k rows and one column a replicate (Patterson, H. D.
// & Williams, E. R. 1976, Biometrika 63, 83–92). Treatment i + s·j, of row j, stands in block i +
// array(j, replicate) of a replicate. The array is the best of those met by changing one element at
// a time from random starts, by the sum of squared concurrences.
func alphaDesign(s, k, replicates int, src *lot.Stream) [][]int {
	array := make([][]int, k)
	for j := range array {
		array[j] = make([]int, replicates)
	}
	// Treatments of rows i and j meet once for each replicate whose elements differ by their
	// difference, so concurrences are counts of array(i, ·) − array(j, ·) modulo s.
	counts := make([]int, s)
	cost := func() int {
		sum := 0
		for i := range k {
			for j := range i {
				clear(counts)
				for r := range replicates {
					counts[(array[i][r]-array[j][r]+s)%s]++
				}
				for _, v := range counts {
					sum += v * v
				}
			}
		}
		return sum
	}
	perfect := 0 // every difference ⌊λ⌋ or ⌈λ⌉ times
	low, more := replicates/s, replicates%s
	perfect = k * (k - 1) / 2 * (more*(low+1)*(low+1) + (s-more)*low*low)
	best := make([][]int, k)
	bestCost := -1
	starts := max(1, min(20, 2_000_000/(k*k*replicates*s*k*replicates*s+1)))
	for range starts {
		for j := range array {
			for r := range array[j] {
				array[j][r] = 0
				if j > 0 && r > 0 {
					array[j][r] = int(src.Below(uint64(s)))
				}
			}
		}
		now := cost()
		for improved := true; improved && now > perfect; {
			improved = false
			for j := 1; j < k; j++ {
				for r := 1; r < replicates; r++ {
					keep := array[j][r]
					for v := range s {
						array[j][r] = v
						if c := cost(); c < now {
							now, keep, improved = c, v, true
						}
					}
					array[j][r] = keep
				}
			}
		}
		if bestCost < 0 || now < bestCost {
			bestCost = now
			for j := range best {
				best[j] = append(best[j][:0], array[j]...)
			}
		}
		if now == perfect {
			break
		}
	}
	var blocks [][]int
	for r := range replicates {
		part := make([][]int, s)
		for j := range k {
			for i := range s {
				b := (i + best[j][r]) % s
				part[b] = append(part[b], i+s*j)
			}
		}
		blocks = append(blocks, part...)
	}
	return blocks
}
