package information

import "fairrun/design/internal/dense"

// Where whole plots stand in blocks that are not alike, or positions or neighbours count, an order
// is judged with whole plots in the model: whole plots differ by chance as much as runs do, so that
// the runs of a block have the covariance V = I + J within each whole plot, and
//
//	V⁻¹ = I − a J  within a whole plot of m runs,  a = 1/(1 + m).
//
// With a mean for each block, what is left of a column x is M x, with M = V⁻¹ − V⁻¹11ᵀV⁻¹/1ᵀV⁻¹1.

// WholePlots yields the bounds of the whole plots of a block, whose runs stand together.
func WholePlots[T int | int32](plots []int, block []T) func(yield func(from, to int) bool) {
	return func(yield func(from, to int) bool) {
		from := 0
		for i := range block {
			if i+1 < len(block) && plots[block[i]] == plots[block[i+1]] {
				continue
			}
			if !yield(from, i+1) {
				return
			}
			from = i + 1
		}
	}
}

// Weight is a, for a whole plot of so many runs.
func Weight(runs int) float64 { return 1 / float64(1+runs) }

// OfBlock is 1ᵀV⁻¹1 of a block.
func OfBlock(plots, block []int) float64 {
	var s float64
	for from, to := range WholePlots(plots, block) {
		s += float64(float64(to-from) * Weight(to-from))
	}
	return s
}

// InPlots returns the information matrix XᵀMX on the treatments with blocks and whole
// plots in the model.
func InPlots(treatments int, plots []int, blocks [][]int) []float64 {
	c := make([]float64, treatments*treatments)
	outer := func(runs, with []int, f float64) {
		for _, x := range runs {
			for _, y := range with {
				c[x*treatments+y] -= f
			}
		}
	}
	for _, block := range blocks {
		for _, t := range block {
			c[t*treatments+t]++
		}
		s := OfBlock(plots, block)
		for from, to := range WholePlots(plots, block) {
			a := Weight(to - from)
			outer(block[from:to], block[from:to], a)
			for from2, to2 := range WholePlots(plots, block) {
				outer(block[from:to], block[from2:to2], float64(a*Weight(to2-from2))/s)
			}
		}
	}
	return c
}

// TakePositions takes out of the information matrix what a course of drift over the positions, the
// same in all blocks, leaves no information on: XᵀMP (PᵀMP)⁻ PᵀMX for the indicators P of positions.
func TakePositions(c []float64, treatments int, plots []int, blocks [][]int) {
	n := len(blocks[0])
	square := make([]float64, n*n)         // PᵀMP
	cross := make([]float64, treatments*n) // XᵀMP
	of := make([]float64, n)               // a of each position
	for _, block := range blocks {
		s := OfBlock(plots, block)
		for from, to := range WholePlots(plots, block) {
			a := Weight(to - from)
			for i := from; i < to; i++ {
				of[i] = a
				for j := from; j < to; j++ {
					square[i*n+j] -= a
					cross[block[i]*n+j] -= a
				}
			}
		}
		for i, t := range block {
			square[i*n+i]++
			cross[t*n+i]++
			for j := range block {
				f := float64(of[i]*of[j]) / s
				square[i*n+j] -= f
				cross[t*n+j] -= f
			}
		}
	}
	g := Mean(square, n)
	AddConstant(square, n, g)
	inv := dense.Inverse(square, n, g)
	if inv == nil {
		for i := range c {
			c[i] = 0 // positions alone cannot be distinguished: never so with two runs or more in each
		}
		return
	}
	half := make([]float64, n)
	for x := range treatments {
		row := cross[x*n : (x+1)*n]
		for j := range half {
			half[j] = dense.Dot(inv[j*n:(j+1)*n], row)
		}
		for y := range treatments {
			c[x*treatments+y] -= dense.Dot(half, cross[y*n:(y+1)*n])
		}
	}
}

// TraceInPlots returns the sum of the variances of orthonormal comparisons within a model of effects,
// or of all where that is nil, in blocks of whole plots and with drift over the positions or without;
// +Inf if one cannot be estimated.
func TraceInPlots(treatments int, plots []int, effects [][]float64, blocks [][]int, positions bool) float64 {
	c := InPlots(treatments, plots, blocks)
	g := Mean(c, treatments)
	if positions {
		TakePositions(c, treatments, plots, blocks)
	}
	basis, side := Basis(treatments, effects)
	if basis != nil {
		info := InBasis(c, treatments, basis, side)
		return dense.TraceInverse(info, side, g)
	}
	AddConstant(c, treatments, g)
	return dense.TraceInverse(c, treatments, g) - 1/g
}
