package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Effects returns the predicted deviation of each level of random factor i from
// the mean of such levels, in the order of its Levels: the best linear unbiased
// prediction at the fitted components,
//
//	γi Zi' H⁻¹ (y - Xβ),
//
// which is 0 for a level without a row. Panics if there is no such factor.
func (r *Result) Effects(i int) []float64 {
	effect := make([]float64, len(r.random[i].level))
	by := r.predicted()[i]
	for l, used := range r.random[i].level {
		if used >= 0 {
			effect[l] = by[used]
		}
	}
	return effect
}

// predicted returns the effects of the used levels of each random factor.
func (r *Result) predicted() [][]float64 {
	m, d := r.moments, r.opt.derivatives
	b := make([][]float64, len(r.random))
	e := r.fixedResiduals()
	for i := range b {
		b[i] = make([]float64, m.levels[i])
		if i == m.first {
			continue
		}
		for l := range b[i] {
			b[i][l] = r.scale * r.opt.gamma[i] * d.y[m.from[i]+l]
		}
		for row, l := range r.random[i].code {
			e[row] -= b[i][l]
		}
	}
	// Given the others, the eliminated factor shrinks the mean of what they leave.
	g, first := &r.random[m.first], b[m.first]
	for row, l := range g.code {
		first[l] += e[row]
	}
	for l, n := range g.count {
		first[l] *= r.opt.gamma[m.first] / (1 + float64(n)*r.opt.gamma[m.first])
	}
	return b
}

// fixedResiduals returns the response of each used row less its fitted fixed part.
func (r *Result) fixedResiduals() []float64 {
	e := make([]float64, r.N)
	for i, row := range r.columns.Rows {
		e[i] = r.y[row] - r.centre
	}
	for k, q := range r.basis.q {
		floats.AddScaled(e, -r.beta[k], q)
	}
	return e
}

// Residuals returns the response less the fixed part and the predicted effects of
// the row's random levels, NaN where the row was left out.
func (r *Result) Residuals() []float64 {
	e := r.fixedResiduals()
	for i, b := range r.predicted() {
		for row, l := range r.random[i].code {
			e[row] -= b[l]
		}
	}
	out := make([]float64, len(r.y))
	for i := range out {
		out[i] = math.NaN()
	}
	for i, row := range r.columns.Rows {
		out[row] = e[i]
	}
	return out
}

// Fitted returns the response less its residual, NaN where the row was left out.
func (r *Result) Fitted() []float64 {
	fit := r.Residuals()
	for i, e := range fit {
		fit[i] = r.y[i] - e
	}
	return fit
}
