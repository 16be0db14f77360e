package linmod

import "math"

// within is what rows of like slopes tell beyond their cell means: an upper
// triangle with the same cross products as their deviations from the cell means,
// one row for each covariate and a last one for the response alone.
type within struct {
	cell int       // a cell of the group: its levels say which slopes hold
	x    *matrix   // the covariates; the last row is zero
	y    []float64 // the response
}

// chunk is the largest number of rows that are folded into the triangle at once.
const chunk = 512

// folder folds rows of deviations into a triangle.
type folder struct {
	x     *matrix // the triangle so far in the first rows, then new rows
	y     []float64
	used  int // rows of x in use
	scale []float64
	rest  sum // of squares of what the covariates leave of the response
	empty bool
}

// newFolder returns a folder for up to so many rows of data.
func newFolder(rows, covariates int) *folder {
	f := &folder{x: newMatrix(covariates+min(rows, chunk), covariates), scale: make([]float64, covariates)}
	f.y = make([]float64, f.x.rows)
	f.reset()
	return f
}

func (f *folder) reset() {
	clear(f.x.data)
	clear(f.y)
	f.used, f.rest, f.empty = f.x.cols, sum{}, true
}

// next returns the number of the next row to fill in x and y.
func (f *folder) next() int {
	if f.used == f.x.rows {
		f.fold()
	}
	f.used++
	f.empty = false
	return f.used - 1
}

// fold reduces the rows in use to the triangle. Rows beyond those in use are
// zero and stay so.
func (f *folder) fold() {
	rank := reduce(f.x, f.y, f.scale).rank()
	f.rest.addSquares(f.y[rank:])
	clear(f.y[rank:])
	f.used = f.x.cols
}

// triangle returns what was folded since the last reset.
func (f *folder) triangle(cell int) within {
	f.fold()
	p := f.x.cols
	w := within{cell: cell, x: newMatrix(p+1, p), y: make([]float64, p+1)}
	for k := range p {
		copy(w.x.col(k)[:p], f.x.col(k))
	}
	copy(w.y, f.y[:p])
	w.y[p] = math.Sqrt(f.rest.value())
	return w
}

// deviations sums up the deviations from the cell means of the response, one triangle for each
// run of cells that share all slopes; none for a group whose cells hold one row
// each.
func deviations(cs *cells, slopes []slope, y func(row int32) float64, mean []float64) []within {
	var out []within
	f := newFolder(len(cs.rows), len(slopes))
	for from, to := 0, 0; from < cs.count(); from = to {
		for to = from; to < cs.count() && sameSlopes(slopes, from, to); to++ {
			if cs.n(to) == 1 {
				continue
			}
			for _, row := range cs.in(to) {
				i := f.next()
				for k := range slopes {
					f.x.col(k)[i] = slopes[k].deviation(row, to)
				}
				f.y[i] = y(row) - mean[to]
			}
		}
		if !f.empty {
			out = append(out, f.triangle(from))
			f.reset()
		}
	}
	return out
}

// sameSlopes reports whether two cells share every slope.
func sameSlopes(slopes []slope, a, b int) bool {
	for k := range slopes {
		if slopes[k].level(a) != slopes[k].level(b) {
			return false
		}
	}
	return true
}
