package information

import "fairrun/design/internal/dense"

// InBlocks returns the information matrix on the treatments with a mean for each block,
//
//	C = diag(replicates) − Σ over blocks of (counts countsᵀ)/runs,
//
// and the degrees of freedom within blocks.
func InBlocks(treatments int, blocks [][]int) (c []float64, df int) {
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

// Mean is the average of the diagonal of c.
func Mean(c []float64, treatments int) float64 {
	var g float64
	for i := range treatments {
		g += c[i*treatments+i]
	}
	return g / float64(treatments)
}

// AddConstant adds g·J/T to the information matrix c on T treatments, which has the constant vector in its
// kernel; comparisons stay as they are.
func AddConstant(c []float64, treatments int, g float64) {
	for i := range c {
		c[i] += g / float64(treatments)
	}
}

// Trace returns the sum of the variances of orthonormal comparisons for the
// information matrix c on the treatments, which it may overwrite; +Inf if one cannot be estimated.
func Trace(c []float64, treatments int, basis []float64, side int) float64 {
	if basis != nil {
		info := InBasis(c, treatments, basis, side)
		return dense.TraceInverse(info, side, Mean(info, side))
	}
	g := Mean(c, treatments)
	AddConstant(c, treatments, g)
	return dense.TraceInverse(c, treatments, g) - 1/g
}

// TakePositionMeans takes out of the information with blocks alone, c, what a mean for each position
// takes: N_p N_pᵀ/B − r rᵀ/N. All blocks have as many runs.
func TakePositionMeans(c []float64, treatments int, blocks [][]int) {
	t, k := treatments, len(blocks[0])
	total := make([]float64, t)
	times := make([]float64, t)
	for i := range k {
		clear(times)
		for _, block := range blocks {
			times[block[i]]++
		}
		for x, u := range times {
			total[x] += u
			if u == 0 {
				continue
			}
			for y, v := range times {
				c[x*t+y] -= float64(u*v) / float64(len(blocks))
			}
		}
	}
	for x, u := range total {
		for y, v := range total {
			c[x*t+y] += float64(u*v) / float64(k*len(blocks))
		}
	}
}
