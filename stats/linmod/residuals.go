package linmod

import (
	"math"
	"slices"
)

// coefficients returns the coefficient of each column, 0 for dependent ones.
func (r *Result) coefficients() []float64 {
	t := r.tri
	z := slices.Clone(t.z[:t.rank()])
	t.backward(z)
	b := make([]float64, t.m.cols)
	for i, j := range t.independent {
		b[j] = z[i]
	}
	return b
}

// Fitted returns the fitted value of each row, NaN where the row was left out.
func (r *Result) Fitted() []float64 {
	fit := r.fittedDeviations()
	for i := range fit {
		fit[i] += r.design.centre
	}
	return fit
}

// Residuals returns the response less the fitted value of each row, NaN where
// the row was left out.
func (r *Result) Residuals() []float64 {
	e := r.fittedDeviations()
	for i, f := range e {
		e[i] = (r.y[i] - r.design.centre) - f
	}
	return e
}

// fittedDeviations returns the fitted values less the mean response.
func (r *Result) fittedDeviations() []float64 {
	d := r.design
	s := d.sweep(r.swept.by)
	b := r.coefficients()
	cell := make([]float64, s.x.rows)
	for j, v := range b {
		if v != 0 {
			addScaled(cell, v, s.x.col(j))
		}
	}
	fit := missing(len(r.y))
	for c, l := range s.by.code {
		level := cell[c]/s.weight[c] + s.yMean[l]
		for _, row := range d.cells.in(c) {
			fit[row] = level
			for k := range d.slopes {
				fit[row] += b[d.slopeColumn(k, c)] * d.slopes[k].deviation(row, c)
			}
		}
	}
	return fit
}

// Leverages returns the diagonal of the projection on the columns of the model,
// NaN where the row was left out. They lie in (0, 1] and add to Rank; 1, but for
// rounding, is a row that the model fits whatever its response. The variance of
// a residual is Sigma2 times one less the leverage.
func (r *Result) Leverages() []float64 {
	d, t := r.design, r.tri
	s := d.sweep(r.swept.by)
	// solve returns the coordinates of the independent columns in the
	// orthonormal basis of the triangle.
	solve := func(column func(j int) float64) []float64 {
		u := make([]float64, t.rank())
		for i, j := range t.independent {
			u[i] = column(j)
		}
		t.forward(u)
		return u
	}
	slope := make([][]float64, d.cols)
	for k := range d.slopes {
		first := d.slopeTerm(k).from
		for own := first; own < first+d.slopes[k].slopes(); own++ {
			slope[own] = solve(func(j int) float64 {
				if j == own {
					return 1
				}
				return 0
			})
		}
	}
	h := missing(len(r.y))
	at := make([]float64, t.rank())
	for c, l := range s.by.code {
		cell := solve(func(j int) float64 { return s.x.col(j)[c] / s.weight[c] })
		level := min(1, 1/s.n[l]+sumSquares(cell))
		for _, row := range d.cells.in(c) {
			h[row] = level
			if len(d.slopes) == 0 || d.cells.n(c) == 1 {
				continue
			}
			copy(at, cell)
			for k := range d.slopes {
				addScaled(at, d.slopes[k].deviation(row, c), slope[d.slopeColumn(k, c)])
			}
			h[row] = min(1, 1/s.n[l]+sumSquares(at))
		}
	}
	return h
}

// missing returns n NaNs.
func missing(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.NaN()
	}
	return x
}
