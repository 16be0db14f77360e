package order

import "math"

// Where whole plots stand in blocks that are not alike, or positions or neighbours count, an order
// is judged with whole plots in the model: whole plots differ by chance as much as runs do, so that
// the runs of a block have the covariance V = I + J within each whole plot, and
//
//	V⁻¹ = I − a J  within a whole plot of m runs,  a = 1/(1 + m).
//
// With a mean for each block, what is left of a column x is M x, with M = V⁻¹ − V⁻¹11ᵀV⁻¹/1ᵀV⁻¹1.

// wholePlots yields the bounds of the whole plots of a block, whose runs stand together.
func wholePlots[T int | int32](plots []int, block []T) func(yield func(from, to int) bool) {
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

// weight is a, for a whole plot of so many runs.
func weight(runs int) float64 { return 1 / float64(1+runs) }

// blockInformation is 1ᵀV⁻¹1 of a block.
func blockInformation(plots, block []int) float64 {
	var s float64
	for from, to := range wholePlots(plots, block) {
		s += float64(float64(to-from) * weight(to-from))
	}
	return s
}

// informationInPlots returns the information matrix XᵀMX on the treatments with blocks and whole
// plots in the model.
func informationInPlots(treatments int, plots []int, blocks [][]int) []float64 {
	c := make([]float64, treatments*treatments)
	addPlotInformation(c, treatments, plots, blocks)
	return c
}

func addPlotInformation(c []float64, treatments int, plots []int, blocks [][]int) {
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
		s := blockInformation(plots, block)
		for from, to := range wholePlots(plots, block) {
			a := weight(to - from)
			outer(block[from:to], block[from:to], a)
			for from2, to2 := range wholePlots(plots, block) {
				outer(block[from:to], block[from2:to2], float64(a*weight(to2-from2))/s)
			}
		}
	}
}

// takePositions takes out of the information matrix what a course of drift over the positions, the
// same in all blocks, leaves no information on: XᵀMP (PᵀMP)⁻ PᵀMX for the indicators P of positions.
func takePositions(c []float64, treatments int, plots []int, blocks [][]int) {
	n := len(blocks[0])
	square := make([]float64, n*n)         // PᵀMP
	cross := make([]float64, treatments*n) // XᵀMP
	of := make([]float64, n)               // a of each position
	for _, block := range blocks {
		s := blockInformation(plots, block)
		for from, to := range wholePlots(plots, block) {
			a := weight(to - from)
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
	g := meanInformation(square, n)
	addConstant(square, n, g)
	inv := inverse(square, n, g)
	if inv == nil {
		for i := range c {
			c[i] = 0 // positions alone cannot be told apart: never so with two runs or more in each
		}
		return
	}
	half := make([]float64, n)
	for x := range treatments {
		row := cross[x*n : (x+1)*n]
		for j := range half {
			half[j] = dot(inv[j*n:(j+1)*n], row)
		}
		for y := range treatments {
			c[x*treatments+y] -= dot(half, cross[y*n:(y+1)*n])
		}
	}
}

// plotTrace returns the sum of the variances of orthonormal comparisons in blocks of whole plots,
// with drift over the positions if that is what the plan has; +Inf if one cannot be estimated.
func (p Spec) plotTrace(blocks [][]int, positions bool) float64 {
	c := informationInPlots(p.Treatments, p.WholePlots, blocks)
	g := meanInformation(c, p.Treatments)
	if positions {
		takePositions(c, p.Treatments, p.WholePlots, blocks)
	}
	basis, side := p.basis()
	if basis != nil {
		info := inBasis(c, p.Treatments, basis, side)
		return traceInverse(info, side, g)
	}
	addConstant(c, p.Treatments, g)
	return traceInverse(c, p.Treatments, g) - 1/g
}

// fillPlotColumns fills w.columns with the drift columns XᵀMz of whole plots, one row a drift term,
// made orthonormal so that ZᵀMZ = I.
func (g *general) fillPlotColumns(flat []int32, w *scratch) {
	clear(w.raw)
	clear(w.gram)
	n, t, d := g.runs, g.treatments, g.degree
	raw, gram := w.raw, w.gram
	own := g.terms > d
	var total [2]float64
	for at := 0; at < len(flat); at += n {
		block := flat[at : at+n]
		var s float64
		total = [2]float64{}
		for from, to := range wholePlots(g.plots, block) {
			a := weight(to - from)
			s += float64(float64(to-from) * a)
			var sum [2]float64
			for k := range d {
				for _, v := range g.scores[k*n+from : k*n+to] {
					sum[k] += float64(v)
				}
				for i, v := range g.scores[k*n+from : k*n+to] {
					raw[k*t+int(block[from+i])] += float64(v) - float64(a*sum[k])
				}
				total[k] += float64(a * sum[k])
			}
			for k := range d {
				for l := range k + 1 {
					gram[k*d+l] -= float64(float64(a*sum[k]) * sum[l])
				}
			}
		}
		for from, to := range wholePlots(g.plots, block) {
			a := weight(to - from)
			for k := range d {
				f := float64(a*total[k]) / s
				for _, x := range block[from:to] {
					raw[k*t+int(x)] -= f
				}
			}
		}
		for k := range d {
			for l := range k + 1 {
				gram[k*d+l] += g.products[k*d+l] - float64(total[k]*total[l])/s
			}
		}
		if own {
			raw, gram = raw[d*t:], gram[d*d:]
		}
	}
	raw, gram = w.raw, w.gram
	for from := 0; from < g.terms; from += d {
		first := raw[from*t : (from+1)*t]
		if d == 2 {
			second := raw[(from+1)*t : (from+2)*t]
			f := gram[2] / gram[0]
			for i, v := range first {
				second[i] -= float64(f * v)
			}
			divideBy(second, math.Sqrt(gram[3]-float64(f*gram[2])))
		}
		divideBy(first, math.Sqrt(gram[0]))
		gram = gram[d*d:]
	}
	for a := range g.terms {
		z, s := w.columns[a*g.side:(a+1)*g.side], raw[a*t:(a+1)*t]
		if g.basis == nil {
			copy(z, s)
			continue
		}
		clear(z)
		for i, v := range s {
			for j, h := range g.basis[i*g.side : (i+1)*g.side] {
				z[j] += float64(v * h)
			}
		}
	}
}

func divideBy(x []float64, f float64) {
	for i := range x {
		x[i] /= f
	}
}
