package screen

import (
	"cmp"
	"math"
	"slices"

	"fairrun/design/internal/dense"
)

// Interaction is an interaction of two factors, part of whose information lies between blocks, where
// it cannot be distinguished from differences between the blocks.
type Interaction struct {
	Factors [2]int  `json:"factors"` // counted from 0, ascending
	Share   float64 `json:"share"`   // of the information, on (0, 1]; 1: it is lost completely
}

// negligibleShare is what counts as none of the information.
const negligibleShare = 1e-9

// InteractionsBetween returns the interactions of two factors that blocks of treatments take a part
// of, those that lose most first; none if all are clear of them. levels holds, for each treatment,
// the number from 0 of its level of each factor.
//
// With an orthonormal set of contrasts between the levels of either factor, x the product of one of
// each, and x̄ its mean over a block of n runs or over all,
//
//	share = Σ over products and blocks of n (x̄ block − x̄ all)² / Σ over products and runs of (x − x̄ all)².
//
// For two levels each it is the squared multiple correlation of the interaction with the blocks.
func InteractionsBetween(levels [][]int, blocks [][]int) []Interaction {
	contrasts := make([][][]float64, len(levels[0]))
	for f := range contrasts {
		most := 0
		for _, row := range levels {
			most = max(most, row[f])
		}
		contrasts[f] = helmert(most + 1)
	}
	var all []Interaction
	for i := range contrasts {
		for j := range i {
			var between, total float64
			for _, u := range contrasts[j] {
				for _, v := range contrasts[i] {
					x := make([]float64, len(levels))
					for t, row := range levels {
						x[t] = u[row[j]] * v[row[i]]
					}
					b, w := betweenAndWithin(x, blocks)
					between, total = between+b, total+b+w
				}
			}
			if total > 0 && between > negligibleShare*total {
				all = append(all, Interaction{Factors: [2]int{j, i}, Share: between / total})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Interaction) int {
		if d := a.Share - b.Share; d > negligibleShare || d < -negligibleShare {
			return cmp.Compare(b.Share, a.Share)
		}
		return cmp.Or(a.Factors[0]-b.Factors[0], a.Factors[1]-b.Factors[1])
	})
	return all
}

// helmert returns L − 1 orthogonal contrasts between L levels, of one length: level l against the
// mean of those before it. Of two levels they are −1 and 1.
func helmert(levels int) [][]float64 {
	var all [][]float64
	for l := 1; l < levels; l++ {
		x := make([]float64, levels)
		for i := range l {
			x[i] = -1 / float64(l)
		}
		x[l] = 1
		dense.Divide(x, math.Sqrt(dense.Dot(x, x))/1.4142135623730951)
		all = append(all, x)
	}
	return all
}

// betweenAndWithin returns the sums of squares between and within blocks of a column by treatment.
func betweenAndWithin(x []float64, blocks [][]int) (between, within float64) {
	var all, runs float64
	for _, block := range blocks {
		for _, t := range block {
			all += x[t]
			runs++
		}
	}
	all /= runs
	for _, block := range blocks {
		if len(block) == 0 {
			continue
		}
		var mean float64
		for _, t := range block {
			mean += x[t] / float64(len(block))
		}
		between += float64(len(block)) * float64((mean-all)*(mean-all))
		for _, t := range block {
			within += float64((x[t] - mean) * (x[t] - mean))
		}
	}
	return between, within
}
