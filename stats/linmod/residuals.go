package linmod

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
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
	h := missing(len(r.y))
	r.eachCell(func(rows []int32, _ int, n float64, at []float64) {
		level := min(1, 1/n+sumSquares(at))
		for _, row := range rows {
			h[row] = level
		}
	})
	return h
}

// Basis returns an orthonormal basis of the columns of the model: Rank columns,
// a row for each entry of y, zero where it was left out. The squared length of
// a row is its leverage, and Basis·Basisᵀ·y the fitted values.
func (r *Result) Basis() *mat.Dense {
	levels := r.swept.by.levels()
	q := mat.NewDense(len(r.y), r.Rank, nil)
	r.eachCell(func(rows []int32, level int, n float64, at []float64) {
		for _, row := range rows {
			out := q.RawRowView(int(row))
			out[level] = 1 / math.Sqrt(n)
			copy(out[levels:], at)
		}
	})
	return q
}

// eachCell calls visit for rows whose place in the orthonormal basis is the
// same: the level of the swept category they are in, the number of rows of that
// level, and their coordinates at in the basis of the triangle, which visit must
// not keep.
func (r *Result) eachCell(visit func(rows []int32, level int, n float64, at []float64)) {
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
	at := make([]float64, t.rank())
	for c, l := range s.by.code {
		cell := solve(func(j int) float64 { return s.x.col(j)[c] / s.weight[c] })
		rows := d.cells.in(c)
		if len(d.slopes) == 0 || len(rows) == 1 {
			visit(rows, int(l), s.n[l], cell)
			continue
		}
		for i, row := range rows {
			copy(at, cell)
			for k := range d.slopes {
				addScaled(at, d.slopes[k].deviation(row, c), slope[d.slopeColumn(k, c)])
			}
			visit(rows[i:i+1], int(l), s.n[l], at)
		}
	}
}

// missing returns n NaNs.
func missing(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.NaN()
	}
	return x
}
