package linmod

import (
	"math"
	"slices"
)

// swept is a least-squares problem on the cells and on the triangles of the
// deviations within them, from which the level means of a category are taken
// out. That projects every column, and the response, on what is orthogonal to
// the indicators of the category.
type swept struct {
	x      *matrix   // a row for each cell, times weight, then the rows of the triangles
	y      []float64 // the response, likewise
	scale  []float64 // length of each column before sweeping; see lengths
	by     *category
	n      []float64 // rows of the data in each level
	xMean  *matrix   // of each level and column
	yMean  []float64 // of each level
	weight []float64 // square root of the count of each cell
}

// sweep lays out the columns of the design and takes the level means of by out.
func (d *design) sweep(by *category) *swept {
	cells, p := d.cells.count(), len(d.slopes)
	s := &swept{
		x: newMatrix(d.rows(), d.cols), y: make([]float64, d.rows()),
		by: by, n: make([]float64, by.levels()),
		xMean: newMatrix(by.levels(), d.cols), yMean: make([]float64, by.levels()),
		weight: d.weight,
	}
	for c, l := range by.code {
		s.n[l] += float64(d.cells.n(c))
	}
	d.fill(s.x)
	s.scale = d.lengths(s.x)
	for j := range d.cols {
		s.takeOut(s.x.col(j)[:cells], s.xMean.col(j))
	}
	copy(s.y, d.y)
	for i, w := range d.within {
		copy(s.y[cells+i*(p+1):], w.y)
	}
	s.takeOut(s.y[:cells], s.yMean)
	return s
}

// lengths returns the lengths of the columns that fill has written. A slope
// counts as no shorter than if its covariate varied among its own rows as among
// all: a level with its only row at the mean would otherwise have a column of
// nothing but rounding.
func (d *design) lengths(x *matrix) []float64 {
	cells := d.cells.count()
	ss := make([]float64, d.cols)
	for j := range ss {
		col := x.col(j)
		ss[j] = sumSquares(col[cells:])
		for c, v := range col[:cells] {
			ss[j] += v * v * d.weight[c] * d.weight[c]
		}
	}
	for k := range d.slopes {
		n := make([]float64, d.slopes[k].slopes())
		for c := range cells {
			n[d.slopes[k].level(c)] += float64(d.cells.n(c))
		}
		for l, rows := range n {
			j := d.slopeTerm(k).from + l
			ss[j] = max(ss[j], rows)
		}
	}
	for j := range ss {
		ss[j] = math.Sqrt(ss[j])
	}
	return ss
}

// takeOut subtracts the level means from the values of the cells, stores them in
// mean, and multiplies by the weights. The means are corrected by the means of
// the deviations from them.
func (s *swept) takeOut(x, mean []float64) {
	rest := make([]float64, len(mean))
	for range 2 {
		clear(rest)
		for c, l := range s.by.code {
			rest[l] += s.weight[c] * s.weight[c] * (x[c] - mean[l])
		}
		for l := range mean {
			mean[l] += rest[l] / s.n[l]
		}
	}
	for c, l := range s.by.code {
		x[c] = s.weight[c] * (x[c] - mean[l])
	}
}

// project returns the least-squares fit of the response by the category and by
// the sums of columns in sets, on the weighted cells and the triangle rows, and
// the rank of both together.
func (s *swept) project(sets [][]int) (fit []float64, rank int) {
	x, scale := merge(s.x, s.scale, sets)
	fit = make([]float64, x.rows)
	t := reduce(x, slices.Clone(s.y), scale)
	b := t.z[:t.rank()]
	t.backward(b)
	for i, j := range t.independent {
		for _, c := range sets[j] {
			addScaled(fit, b[i], s.x.col(c))
		}
	}
	for c, l := range s.by.code {
		fit[c] += s.weight[c] * s.yMean[l]
	}
	return fit, s.by.levels() + t.rank()
}

// merge returns the matrix whose columns are the sums of the columns of x in
// each set, with a scale for each.
func merge(x *matrix, scale []float64, sets [][]int) (*matrix, []float64) {
	m := newMatrix(x.rows, len(sets))
	lengths := make([]float64, len(sets))
	for k, set := range sets {
		for _, j := range set {
			addScaled(m.col(k), 1, x.col(j))
			lengths[k] = math.Hypot(lengths[k], scale[j])
		}
	}
	return m, lengths
}
