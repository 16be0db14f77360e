package order

import (
	"fmt"
	"math"
	"slices"
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
	// free of drift; ±1 cannot be told from it. QuadraticCorrelation is nil in blocks of two runs.
	LinearCorrelation    []float64 `json:"linear_correlation"`
	QuadraticCorrelation []float64 `json:"quadratic_correlation,omitempty"`

	// DF is the residual degrees of freedom that are left for the noise.
	DF int `json:"df"`
}

// Assess answers how good an order is, drawn by this package or not; blocks holds treatment indices
// by position, all runs included. It uses Treatments, Drift, Shared, Effects and Warmup of the
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
	c, df := informationInBlocks(p.Treatments, blocks)
	basis, side := p.basis()
	information := meanInformation(inBasis(c, p.Treatments, basis, side), side)
	without, average := comparisonVariances(c, p.Treatments, basis, side, information)
	if without == nil {
		return nil, errNotConnected
	}
	q := &Quality{VarianceWithoutDrift: without}
	q.LinearCorrelation = correlations(p.Treatments, blocks, 0)
	q.QuadraticCorrelation = correlations(p.Treatments, blocks, 1)
	var columns [][][]float64
	if p.Drift == Position && len(blocks) > 0 && len(blocks[0]) > manyPositions && sameLength(blocks) {
		takePositionMeans(c, p.Treatments, blocks)
		df -= len(blocks[0]) - 1
	} else {
		columns = driftColumns(p, blocks)
	}
	for _, z := range columns {
		w := treatmentSums(p.Treatments, blocks, z)
		for i, u := range w {
			for j, v := range w {
				c[i*p.Treatments+j] -= float64(u * v)
			}
		}
		df--
	}
	variance, with := comparisonVariances(c, p.Treatments, basis, side, information)
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
	errConfounded   = fmt.Errorf("order: some comparison cannot be told from drift in this order")
)

// informationInBlocks returns the information matrix on the treatments with a mean for each block,
//
//	C = diag(replicates) − Σ over blocks of (counts countsᵀ)/runs,
//
// and the degrees of freedom within blocks.
func informationInBlocks(treatments int, blocks [][]int) (c []float64, df int) {
	c = make([]float64, treatments*treatments)
	times := make([]float64, treatments)
	for _, block := range blocks {
		if len(block) == 0 {
			continue
		}
		clear(times)
		for _, t := range block {
			times[t]++
			c[t*treatments+t]++
		}
		for i, u := range times {
			if u == 0 {
				continue
			}
			for j, v := range times {
				c[i*treatments+j] -= float64(u*v) / float64(len(block))
			}
		}
		df += len(block) - 1
	}
	return c, df
}

// meanInformation is the average of the diagonal of c.
func meanInformation(c []float64, treatments int) float64 {
	var g float64
	for i := range treatments {
		g += c[i*treatments+i]
	}
	return g / float64(treatments)
}

// comparisonVariances returns the variances of all pairwise comparisons for the information matrix
// c on the treatments, within the model that basis spans, and their average; nil if one cannot be
// estimated, judged against g, the mean information with blocks alone.
func comparisonVariances(c []float64, treatments int, basis []float64, side int, g float64) (variance [][]float64, average float64) {
	info := inBasis(c, treatments, basis, side)
	if basis == nil {
		addConstant(info, side, g)
	}
	inv := inverse(info, side, g)
	if inv == nil {
		return nil, 0
	}
	if basis != nil {
		inv = outOfBasis(inv, treatments, basis, side)
	}
	variance = make([][]float64, treatments)
	for i := range variance {
		variance[i] = make([]float64, treatments)
		for j := range variance[i] {
			if i != j {
				v := inv[i*treatments+i] + inv[j*treatments+j] - 2*inv[i*treatments+j]
				variance[i][j] = v
				average += v
			}
		}
	}
	return variance, average / float64(treatments*(treatments-1))
}

// outOfBasis returns basis·v·basisᵀ.
func outOfBasis(v []float64, treatments int, basis []float64, side int) []float64 {
	half := make([]float64, treatments*side)
	for i := range treatments {
		for j := range side {
			half[i*side+j] = dot(basis[i*side:(i+1)*side], v[j*side:(j+1)*side])
		}
	}
	out := make([]float64, treatments*treatments)
	for i := range treatments {
		for j := range treatments {
			out[i*treatments+j] = dot(half[i*side:(i+1)*side], basis[j*side:(j+1)*side])
		}
	}
	return out
}

// driftColumns returns orthonormal columns, block by block, that span the plan's drift within
// blocks. Columns of one block have nil elsewhere.
func driftColumns(p Spec, blocks [][]int) [][][]float64 {
	if p.Drift == Position {
		return positionColumns(blocks)
	}
	var columns [][][]float64
	for k := range p.Drift.degree() {
		whole := courses(blocks, k)
		if p.Shared {
			columns = append(columns, whole)
			continue
		}
		for b := range whole {
			own := make([][]float64, len(whole))
			own[b] = whole[b]
			columns = append(columns, own)
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

// positionColumns returns orthonormal columns that span any course over the positions, shared by
// all blocks.
func positionColumns(blocks [][]int) [][][]float64 {
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
					f += dot(z[b], y[b])
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

// courses returns the orthogonal polynomial of degree k+1 in the position, block by block; zeros in
// blocks too short for it. Courses of different degrees are orthogonal within each block.
func courses(blocks [][]int, k int) [][]float64 {
	z := make([][]float64, len(blocks))
	for b, block := range blocks {
		n := float64(len(block))
		z[b] = make([]float64, len(block))
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

// correlations returns, for each treatment, the correlation within blocks of its being run with the
// course of degree k+1; nil if no block is long enough for that.
func correlations(treatments int, blocks [][]int, k int) []float64 {
	z := courses(blocks, k)
	size := norm(z)
	if size == 0 {
		return nil
	}
	c, _ := informationInBlocks(treatments, blocks)
	r := treatmentSums(treatments, blocks, z)
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

// treatmentSums adds z up over the runs of each treatment.
func treatmentSums(treatments int, blocks [][]int, z [][]float64) []float64 {
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
