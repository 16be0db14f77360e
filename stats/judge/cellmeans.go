package judge

import (
	"math"

	"fairrun/stats/linmod"
)

// CellMeans is the fit of treatments to the means of the cells of block × treatment, whose agreement they are judged by,
// for the runs of one order, as [mixed.FitCells] makes it. It is made once for all responses, and its memory is used
// again. It may not be used by several goroutines.
type CellMeans struct {
	runs  *LeastSquares // the columns of drift and covariates, a row a run
	cells *LeastSquares // blocks and treatments, a row a cell

	treatments int
	cell       []int // of each row: block times treatments and treatment
	n          []int // runs of each cell
	treatment  []int // of each cell
	good       []bool
	at         [][]float64 // of each column kept: its mean in each cell less that where means stand
	mean       []float64   // of each cell
	over       [][]float64 // of each column of carry-over: its mean in each cell
}

// NewCellMeans makes room for fits of a model whose treatments are 0 … treatments−1.
func NewCellMeans(m *Model, treatments int) *CellMeans {
	cells := &Model{Blocks: m.Blocks, Length: treatments, Factors: m.Factors}
	n := cells.slots()
	w := &CellMeans{runs: NewLeastSquares(&Model{Blocks: m.Blocks, Length: m.Length, Drift: m.Drift, Positions: m.Positions, Noted: m.Noted, CarryOver: m.CarryOver}),
		cells: NewLeastSquares(cells), treatments: treatments, n: make([]int, n), treatment: make([]int, n), good: make([]bool, n), mean: make([]float64, n)}
	for i := range w.treatment {
		w.treatment[i] = i % treatments
	}
	return w
}

// Repeats reports whether some cell holds more than one good run. Where none does the noise from run to run holds how
// differently blocks answer, and [LeastSquares] serves.
func (w *CellMeans) Repeats(treatment []int, good []bool) bool {
	r := w.runs
	r.take(good)
	clear(w.n)
	w.cell = w.cell[:0]
	repeats := false
	for _, s := range r.rows {
		c := s/r.model.Length*w.treatments + treatment[s]
		w.cell = append(w.cell, c)
		w.n[c]++
		repeats = repeats || w.n[c] > 1
	}
	for c, n := range w.n {
		w.good[c] = n > 0
	}
	return repeats
}

// Order fits the columns for the treatment of each slot and the slots that are good. It reports whether some cell repeats, cell
// means can be distinguished from drift, and degrees of freedom are left between them; otherwise the fit is of no
// use, and [General] serves.
func (w *CellMeans) Order(treatment []int, good []bool) bool {
	if !w.Repeats(treatment, good) {
		return false
	}
	w.runs.columns, w.runs.memory = w.runs.columns[:0], w.runs.memory[:0]
	w.runs.lay(treatment)
	w.carryOver()
	return w.cells.Order(w.treatment, w.good) && w.cells.mean[0].df > 0 && w.drift()
}

// carryOver puts the residual effects into the model of the cells: what the runs of a cell take over on average.
func (w *CellMeans) carryOver() {
	r, m := w.runs, w.cells.model
	m.Noted = m.Noted[:0]
	for _, c := range r.columns[r.carried:] {
		n := len(m.Noted)
		if m.Noted = append(m.Noted, nil); len(w.over) == n {
			w.over = append(w.over, make([]float64, len(w.n)))
		}
		m.Noted[n] = w.over[n]
		clear(w.over[n])
		for i, cell := range w.cell {
			w.over[n][cell] += c.x[i] / float64(w.n[cell])
		}
	}
}

// drift makes the columns of drift and covariates orthonormal within cells. It reports whether they are independent there.
func (w *CellMeans) drift() bool {
	r := w.runs
	for len(w.at) < len(r.columns) {
		w.at = append(w.at, make([]float64, len(w.n)))
	}
	for j := range r.columns {
		c, at := &r.columns[j], w.at[j]
		length := math.Sqrt(product(c.x, c.x))
		w.centre(c.x, at)
		if j >= r.carried {
			clear(at) // a cell mean keeps what its own runs took over
		}
		if c.factor == position {
			mean := r.at(j, 0, 0)
			for k := range at {
				at[k] -= mean
			}
		}
		for range 2 {
			for i := range j {
				q := &r.columns[i]
				v := product(q.x, c.x)
				for h, x := range q.x {
					c.x[h] -= v * x
				}
				for k, x := range w.at[i] {
					at[k] -= v * x
				}
			}
		}
		rest := math.Sqrt(product(c.x, c.x))
		if !(rest > linmod.DependentShare*length) {
			return false
		}
		for h := range c.x {
			c.x[h] /= rest
		}
		for k := range at {
			at[k] /= rest
		}
	}
	return true
}

// centre takes the cell means from a column and puts them into mean.
func (w *CellMeans) centre(x, mean []float64) {
	clear(mean)
	for i, c := range w.cell {
		mean[c] += x[i] / float64(w.n[c])
	}
	for i, c := range w.cell {
		x[i] -= mean[c]
	}
}

// Precision implements [Fitted].
func (w *CellMeans) Precision(k int) *Precision { return w.cells.Precision(k) }

// Solve implements [Fitted].
func (w *CellMeans) Solve(y []float64, out []Estimates) {
	r := w.runs
	e := r.e[:len(r.rows)]
	for i, s := range r.rows {
		e[i] = y[s]
	}
	w.centre(e, w.mean)
	for j := range r.columns {
		q := &r.columns[j]
		z := product(q.x, e)
		for i, x := range q.x {
			e[i] -= z * x
		}
		for k, x := range w.at[j] {
			w.mean[k] -= z * x
		}
	}
	w.cells.Solve(w.mean, out)
}
