package loss

import (
	"math"

	"fairrun/design/internal/dense"
	"fairrun/design/internal/information"
)

// DriftColumns returns orthonormal columns, block by block, that span polynomial drift of a degree
// within blocks, the same in all or each block's own. Columns of one block have nil elsewhere.
func DriftColumns(degree int, own bool, blocks [][]int) [][][]float64 {
	var columns [][][]float64
	for k := range degree {
		whole := courses(blocks, k)
		if !own {
			columns = append(columns, whole)
			continue
		}
		for b := range whole {
			column := make([][]float64, len(whole))
			column[b] = whole[b]
			columns = append(columns, column)
		}
	}
	kept := columns[:0]
	for _, z := range columns {
		if size := norm(z); size > 0 {
			divide(z, size)
			kept = append(kept, z)
		}
	}
	return kept
}

// PositionColumns returns orthonormal columns that span any course over the positions, shared by
// all blocks.
func PositionColumns(blocks [][]int) [][][]float64 {
	longest := 0
	for _, block := range blocks {
		longest = max(longest, len(block))
	}
	var kept [][][]float64
	for at := range longest {
		z := make([][]float64, len(blocks))
		for b, block := range blocks {
			z[b] = make([]float64, len(block))
			for i := range block {
				z[b][i] = -1 / float64(len(block))
			}
			if at < len(block) {
				z[b][at]++
			} else {
				clear(z[b])
			}
		}
		before := norm(z)
		for range 2 {
			for _, y := range kept {
				var f float64
				for b := range z {
					f += dense.Dot(z[b], y[b])
				}
				for b := range z {
					for i := range z[b] {
						z[b][i] -= float64(f * y[b][i])
					}
				}
			}
		}
		if after := norm(z); after > 1e-7*before {
			divide(z, after)
			kept = append(kept, z)
		}
	}
	return kept
}

// courses returns drift term k over the positions, block by block: the orthogonal polynomial of degree k+1, or a bend of a
// curve; zeros in blocks too short for it. Different terms are orthogonal within each block.
func courses(blocks [][]int, k int) [][]float64 {
	z := make([][]float64, len(blocks))
	bent := map[int][]int64{} // of a length
	for b, block := range blocks {
		n := float64(len(block))
		z[b] = make([]float64, len(block))
		if k >= 2 {
			if bent[len(block)] == nil {
				bent[len(block)] = bends(len(block))[k-2]
			}
			for i, v := range bent[len(block)] {
				z[b][i] = float64(v)
			}
			continue
		}
		for i := range block {
			y := 2*float64(i) - (n - 1)
			z[b][i] = y
			if k == 1 {
				z[b][i] = 3*float64(y*y) - (float64(n*n) - 1)
			}
		}
	}
	return z
}

// Correlations returns, for each treatment, the correlation within blocks of its being run with the
// course of degree k+1; nil if no block is long enough for that.
func Correlations(treatments int, blocks [][]int, k int) []float64 {
	z := courses(blocks, k)
	size := norm(z)
	if size == 0 {
		return nil
	}
	c, _ := information.InBlocks(treatments, blocks)
	r := TreatmentSums(treatments, blocks, z)
	for t := range r {
		d := c[t*treatments+t]
		if d == 0 {
			r[t] = 0 // fills its blocks alone
			continue
		}
		r[t] /= size * math.Sqrt(d)
	}
	return r
}

// TreatmentSums adds z up over the runs of each treatment.
func TreatmentSums(treatments int, blocks [][]int, z [][]float64) []float64 {
	sums := make([]float64, treatments)
	for b, column := range z {
		for i, v := range column {
			sums[blocks[b][i]] += v
		}
	}
	return sums
}

func norm(x [][]float64) float64 {
	var sum float64
	for _, row := range x {
		for _, v := range row {
			sum += float64(v * v)
		}
	}
	return math.Sqrt(sum)
}

func divide(x [][]float64, f float64) {
	for _, row := range x {
		for i := range row {
			row[i] /= f
		}
	}
}
