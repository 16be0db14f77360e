package order

import (
	"fmt"
	"slices"

	"fairrun/design/internal/information"
	"fairrun/design/order/internal/loss"
)

// Quality says how good an order is, by least squares with a mean for each block, the plan's drift
// and a mean for each treatment.
type Quality struct {
	// Efficiency is the average variance of the pairwise comparisons without drift over that with it.
	Efficiency float64 `json:"efficiency"`

	// Variance holds the variance of the comparison of treatments i and j as a multiple of the
	// variance of a run; VarianceWithoutDrift the same were there no drift to fit.
	Variance             [][]float64 `json:"variance"`
	VarianceWithoutDrift [][]float64 `json:"variance_without_drift"`

	// LinearCorrelation and QuadraticCorrelation hold, for each treatment, the correlation within blocks
	// between the treatment being run and the straight and the parabolic course of the positions. 0 is
	// free of drift; ±1 cannot be distinguished from it. QuadraticCorrelation is nil in blocks of two runs.
	LinearCorrelation    []float64 `json:"linear_correlation"`
	QuadraticCorrelation []float64 `json:"quadratic_correlation,omitempty"`

	// DF is the residual degrees of freedom that are left for the noise.
	DF int `json:"df"`
}

// Assess answers how good an order is, drawn by this package or not; blocks holds treatment indices
// by position, all runs included. It uses Treatments, Drift, Own, Effects and Warmup of the
// plan; blocks may be of any lengths and hold the treatments as they like. It returns an error if a
// treatment index is out of range or some comparison cannot be estimated. Time grows with T³.
func Assess(p Spec, blocks [][]int) (*Quality, error) {
	analysed := make([][]int, len(blocks))
	for b, block := range blocks {
		for i, t := range block {
			if t < 0 || t >= p.Treatments {
				return nil, fmt.Errorf("order: block %d position %d holds treatment %d; the plan has %d treatments", b+1, i+1, t, p.Treatments)
			}
		}
		analysed[b] = block[min(p.Warmup, len(block)):]
	}
	blocks = analysed
	if err := p.checkEffects(); err != nil {
		return nil, err
	}
	c, df := information.InBlocks(p.Treatments, blocks)
	basis, side := p.basis()
	mean := information.Mean(information.InBasis(c, p.Treatments, basis, side), side)
	without, average := information.Variances(c, p.Treatments, basis, side, mean)
	if without == nil {
		return nil, errNotConnected
	}
	q := &Quality{VarianceWithoutDrift: without}
	q.LinearCorrelation = loss.Correlations(p.Treatments, blocks, 0)
	q.QuadraticCorrelation = loss.Correlations(p.Treatments, blocks, 1)
	var columns [][][]float64
	if p.Drift == Position && len(blocks) > 0 && len(blocks[0]) > manyPositions && sameLength(blocks) {
		information.TakePositionMeans(c, p.Treatments, blocks)
		df -= len(blocks[0]) - 1
	} else {
		columns = p.driftColumns(blocks)
	}
	for _, z := range columns {
		w := loss.TreatmentSums(p.Treatments, blocks, z)
		for i, u := range w {
			for j, v := range w {
				c[i*p.Treatments+j] -= float64(u * v)
			}
		}
		df--
	}
	variance, with := information.Variances(c, p.Treatments, basis, side, mean)
	if variance == nil {
		return nil, errConfounded
	}
	comparisons := side
	if basis == nil {
		comparisons--
	}
	q.Variance, q.DF = variance, df-comparisons
	q.Efficiency = average / with
	return q, nil
}

// manyPositions is the number of positions from which on their means are taken out together instead
// of one by one, which takes far longer.
const manyPositions = 64

// sameLength reports whether all blocks have as many runs.
func sameLength(blocks [][]int) bool {
	return !slices.ContainsFunc(blocks, func(block []int) bool { return len(block) != len(blocks[0]) })
}

var (
	errNotConnected = fmt.Errorf("order: some comparison cannot be estimated: no chain of blocks joins its treatments")
	errConfounded   = fmt.Errorf("order: some comparison cannot be distinguished from drift in this order")
)
