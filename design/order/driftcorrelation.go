package order

import (
	"math"

	"fairrun/design/internal/information"
	"fairrun/design/order/internal/loss"
)

// DriftCorrelations returns, for each treatment, the multiple correlation within blocks between its being run
// and all the columns that the drift of p takes out, those of each block apart where the drift is each block's own:
//
//	R² = Σ over columns z of (Σ of z over the runs of t)² / c,   c = Σ over blocks of (m − m²/n),
//
// with z orthonormal, and m of the n runs of a block of treatment t. 0 is free of the drift; 1 cannot be distinguished from it. It uses
// Treatments, Drift, Own and Warmup of p, and blocks as Assess does. It is 0 where a treatment fills its
// blocks alone, since nothing of it is then known within blocks.
func DriftCorrelations(p Spec, blocks [][]int) []float64 {
	analysed := make([][]int, len(blocks))
	for b, block := range blocks {
		analysed[b] = block[min(p.Warmup, len(block)):]
	}
	c, _ := information.InBlocks(p.Treatments, analysed)
	r := make([]float64, p.Treatments)
	var columns [][][]float64
	if p.Drift == Position && len(analysed) > 0 && sameLength(analysed) {
		addPositions(r, analysed)
	} else {
		columns = p.driftColumns(analysed)
	}
	for _, z := range columns {
		for t, sum := range loss.TreatmentSums(p.Treatments, analysed, z) {
			r[t] += sum * sum
		}
	}
	for t := range r {
		if within := c[t*p.Treatments+t]; within > 0 {
			r[t] = math.Sqrt(max(0, min(1, r[t]/within)))
		} else {
			r[t] = 0
		}
	}
	return r
}

// addPositions adds to r, for each treatment, Σ over positions of n²/B − (Σ n)²/N, with n of the B runs at a position
// of that treatment: what means of the positions explain of it in blocks of one length.
func addPositions(r []float64, blocks [][]int) {
	total := make([]float64, len(r))
	times := make([]float64, len(r))
	for i := range blocks[0] {
		clear(times)
		for _, block := range blocks {
			times[block[i]]++
		}
		for t, n := range times {
			r[t] += n * n / float64(len(blocks))
			total[t] += n
		}
	}
	for t, n := range total {
		r[t] -= n * n / float64(len(blocks)*len(blocks[0]))
	}
}
