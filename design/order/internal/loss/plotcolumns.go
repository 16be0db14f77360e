package loss

import (
	"math"

	"fairrun/design/internal/dense"
	"fairrun/design/internal/information"
)

// fillPlotColumns fills w.columns with the drift columns XᵀMz of whole plots, one row a drift term,
// made orthonormal so that ZᵀMZ = I.
func (g *AnyBlocks) fillPlotColumns(flat []int32, w *Scratch) {
	clear(w.raw)
	clear(w.gram)
	n, t, d := g.runs, g.treatments, g.degree
	raw, gram := w.raw, w.gram
	var total [CurveDegree]float64
	for at := 0; at < len(flat); at += n {
		block := flat[at : at+n]
		var s float64
		total = [CurveDegree]float64{}
		for from, to := range information.WholePlots(g.plots, block) {
			a := information.Weight(to - from)
			s += float64(float64(to-from) * a)
			var sum [CurveDegree]float64
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
		for from, to := range information.WholePlots(g.plots, block) {
			a := information.Weight(to - from)
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
		if g.own {
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
			dense.Divide(second, math.Sqrt(gram[3]-float64(f*gram[2])))
		}
		dense.Divide(first, math.Sqrt(gram[0]))
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
