package order

import "math"

// With many more treatments than blocks, variances come cheaper from the information on the blocks.
// With N the counts of treatments by block, R and K the diagonal matrices of the runs of treatments
// and of blocks, and D = K − NᵀR⁻¹N the information on the blocks, a generalised inverse of that on
// the treatments, C = R − N K⁻¹ Nᵀ, is
//
//	C⁻ = R⁻¹ + R⁻¹ N D⁻ Nᵀ R⁻¹
//
// (John, J. A. & Williams, E. R. 1995, Cyclic and Computer Generated Designs, section 1.7).
type dual struct {
	blocks  [][]int
	runs    []float64 // of each treatment: R
	inverse []float64 // D⁻, B×B
	trace   float64   // sum of the variances of orthonormal comparisons
}

// manyTreatments is the number of treatments from which on a dual is used, if blocks are fewer.
const manyTreatments = 200

// newDual returns the dual of a block design, nil if some comparison cannot be estimated.
func newDual(treatments int, blocks [][]int) *dual {
	d := &dual{blocks: blocks, runs: make([]float64, treatments)}
	b := len(blocks)
	in := make([][]int, treatments) // blocks of the runs of each treatment
	square := make([]float64, b*b)
	for i, block := range blocks {
		square[i*b+i] += float64(len(block))
		for _, t := range block {
			d.runs[t]++
			in[t] = append(in[t], i)
		}
	}
	var sum float64
	second := make([]float64, b*b) // NᵀR⁻²N
	for t, of := range in {
		r := d.runs[t]
		if r == 0 {
			return nil
		}
		sum += 1 / r
		for _, i := range of {
			for _, j := range of {
				square[i*b+j] -= 1 / r
				second[i*b+j] += 1 / float64(r*r)
			}
		}
	}
	g := meanInformation(square, b)
	addConstant(square, b, g)
	if d.inverse = inverse(square, b, g); d.inverse == nil {
		return nil
	}
	first := make([]float64, b) // NᵀR⁻¹1
	for t, of := range in {
		for _, i := range of {
			first[i] += 1 / d.runs[t]
		}
	}
	var middle float64
	for i := range b {
		sum += dot(d.inverse[i*b:(i+1)*b], second[i*b:(i+1)*b])
		middle += float64(first[i] * dot(d.inverse[i*b:(i+1)*b], first))
	}
	// tr (I − J/T) C⁻.
	var ones float64
	for _, r := range d.runs {
		ones += 1 / r
	}
	d.trace = sum - (ones+middle)/float64(treatments)
	return d
}

// solve fills y with C⁻z, less its mean, for z that sums to zero.
func (d *dual) solve(z, y []float64) {
	b := len(d.blocks)
	u := make([]float64, b)
	for i, block := range d.blocks {
		for _, t := range block {
			u[i] += z[t] / d.runs[t]
		}
	}
	for t, v := range z {
		y[t] = v / d.runs[t]
	}
	for i, block := range d.blocks {
		f := dot(d.inverse[i*b:(i+1)*b], u)
		for _, t := range block {
			y[t] += f / d.runs[t]
		}
	}
	var mean float64
	for _, v := range y {
		mean += v / float64(len(y))
	}
	for t := range y {
		y[t] -= mean
	}
}

// traceOfBlocks returns the sum of the variances of orthonormal comparisons in a block design; +Inf if
// one cannot be estimated.
func traceOfBlocks(treatments int, blocks [][]int) float64 {
	if treatments > manyTreatments && len(blocks) < treatments {
		d := newDual(treatments, blocks)
		if d == nil {
			return math.Inf(1)
		}
		return d.trace
	}
	c, _ := informationInBlocks(treatments, blocks)
	return traceOfInformation(c, treatments, nil, treatments)
}
