package rehearse

import (
	"math"

	"fairrun/design"
)

// fit is the least squares fit of blocks, drift and treatments to the runs of one order, made once
// for all responses. Its memory is used again.
//
// Every column is first freed of the block means and then, twice, of the columns before it
// (Gram & Schmidt; twice is enough: Giraud, Langou & Rozložník 2005, Numerische Mathematik 101). With Q the columns that
// result and R their coordinates, an adjusted mean is
//
//	ȳ + u'z,    z = Q'y,    R'u = l − c
//
// where ȳ is the mean of the block means of the response, c that of the columns, and l the columns'
// values at the mean. Its variance over the noise's is Σ 1/(n_b B²) + u'u, that of a difference |u_i − u_j|².
type fit struct {
	frame *frame
	drift design.Drift

	rows    []int // slots that are analysed and good
	start   []int // of each block that has any: its first row; one more at the end
	columns []column
	memory  []float64 // of the columns
	r       []float64 // R, column by column, as many apart as there may be columns

	mean []levels // of each factor
	z, e []float64
}

// column is a column of the design, its parts outside lo … hi-1 being zero.
type column struct {
	x      []float64
	lo, hi int
	centre float64 // mean of the block means
	factor int     // treatment column of this factor, or one of those below
	level  int
}

// Columns that are not of a treatment.
const (
	slope    = -1 // centred: 0 at every mean
	position = -2 // an indicator, averaged over
)

// levels holds the adjusted means of a factor.
type levels struct {
	u [][]float64 // coordinates of each mean
	precision
}

// dependent is the part of its length that may be left of a column which depends on those before
// it; that of package linmod.
const dependent = 1e-7

func newFit(f *frame, drift design.Drift) *fit {
	w := &fit{frame: f, drift: drift, e: make([]float64, f.slots())}
	for k := range f.factors {
		n := len(f.factors[k].labels)
		l := levels{u: make([][]float64, n), precision: newPrecision(n)}
		w.mean = append(w.mean, l)
	}
	return w
}

// prepare fits the columns for the treatment of each slot and the slots that are good. It
// reports whether all columns are independent; otherwise the fit is of no use.
func (w *fit) prepare(treatment []int, good []bool) bool {
	w.take(good)
	w.columns, w.memory = w.columns[:0], w.memory[:0]
	if len(w.rows) == 0 {
		return false
	}
	w.lay(treatment)
	p := len(w.columns)
	w.r = grown(w.r, p*p)
	w.z = grown(w.z, p)
	for j := range w.columns {
		if !w.reduce(j) {
			return false
		}
	}
	df := float64(len(w.rows) - (len(w.start) - 1) - p)
	for k := range w.mean {
		w.means(k, df)
	}
	return true
}

// take lists the rows.
func (w *fit) take(good []bool) {
	w.rows, w.start = w.rows[:0], w.start[:0]
	for b := range w.frame.blocks {
		first := len(w.rows)
		for s := b * w.frame.length; s < (b+1)*w.frame.length; s++ {
			if good[s] {
				w.rows = append(w.rows, s)
			}
		}
		if len(w.rows) > first {
			w.start = append(w.start, first)
		}
	}
	w.start = append(w.start, len(w.rows))
}

// add begins a column of zeros.
func (w *fit) add(factor, level, lo, hi int) []float64 {
	n := len(w.rows)
	if cap(w.memory) < len(w.memory)+n {
		w.memory = make([]float64, 0, 2*cap(w.memory)+16*n) // columns laid so far keep the old one
	}
	at := len(w.memory)
	w.memory = w.memory[:at+n]
	x := w.memory[at : at+n : at+n]
	clear(x)
	w.columns = append(w.columns, column{x: x, lo: lo, hi: hi, factor: factor, level: level})
	return x
}

// lay writes the columns: drift first, then treatments.
func (w *fit) lay(treatment []int) {
	f, n := w.frame, len(w.rows)
	switch w.drift.Model {
	case design.DriftLinear:
		w.slopes(1)
	case design.DriftQuadratic:
		w.slopes(1)
		w.slopes(2)
	case design.DriftPosition:
		first := true
		for at := range f.length {
			var x []float64
			for i, s := range w.rows {
				if s%f.length != at {
					continue
				}
				if x == nil {
					if first {
						first = false
						break
					}
					x = w.add(position, at, 0, n)
				}
				x[i] = 1
			}
		}
	}
	for k := range f.factors {
		code := f.factors[k].code
		live := w.mean[k].live[:0]
		for level := range f.factors[k].labels {
			var x []float64
			for i, s := range w.rows {
				if code[treatment[s]] != level {
					continue
				}
				if x == nil {
					if live = append(live, level); len(live) == 1 {
						break
					}
					x = w.add(k, level, 0, n)
				}
				x[i] = 1
			}
		}
		w.mean[k].live = live
	}
}

// slopes adds the power of the position, about its mean: one column, or one a block.
func (w *fit) slopes(power int) {
	f, n := w.frame, len(w.rows)
	value := func(s int) float64 {
		x := float64(s%f.length+1) / float64(f.length)
		if power == 2 {
			x *= x
		}
		return x
	}
	var mean float64
	for _, s := range w.rows {
		mean += value(s) / float64(n)
	}
	if w.drift.Shared {
		x := w.add(slope, 0, 0, n)
		for i, s := range w.rows {
			x[i] = value(s) - mean
		}
		return
	}
	for b := range len(w.start) - 1 {
		x := w.add(slope, b, w.start[b], w.start[b+1])
		for i := w.start[b]; i < w.start[b+1]; i++ {
			x[i] = value(w.rows[i]) - mean
		}
	}
}

// centre takes the block means from a column and returns their mean.
func (w *fit) centre(x []float64) float64 {
	var sum float64
	for b := range len(w.start) - 1 {
		part := x[w.start[b]:w.start[b+1]]
		var mean float64
		for _, v := range part {
			mean += v
		}
		mean /= float64(len(part))
		for i := range part {
			part[i] -= mean
		}
		sum += mean
	}
	return sum / float64(len(w.start)-1)
}

// reduce makes column j orthonormal to the blocks and the columns before it.
func (w *fit) reduce(j int) bool {
	p := len(w.columns)
	c := &w.columns[j]
	r := w.r[j*p : (j+1)*p]
	clear(r)
	length := math.Sqrt(product(c.x, c.x))
	c.centre = w.centre(c.x)
	for range 2 {
		for i := range j {
			q := &w.columns[i]
			lo, hi := max(q.lo, c.lo), min(q.hi, c.hi)
			if lo >= hi {
				continue
			}
			v := product(q.x[lo:hi], c.x[lo:hi])
			r[i] += v
			for h, y := range q.x[lo:hi] {
				c.x[lo+h] -= v * y
			}
		}
	}
	rest := math.Sqrt(product(c.x, c.x))
	if !(rest > dependent*length) {
		return false
	}
	r[j] = rest
	for i := range c.x {
		c.x[i] /= rest
	}
	return true
}

// means finds the coordinates of the adjusted means of factor k and what is known of their precision.
func (w *fit) means(k int, df float64) {
	m := &w.mean[k]
	p := len(w.columns)
	base := 0.0
	blocks := float64(len(w.start) - 1)
	for b := range len(w.start) - 1 {
		base += 1 / (float64(w.start[b+1]-w.start[b]) * blocks * blocks)
	}
	for _, level := range m.live {
		m.u[level] = grown(m.u[level], p)
		u := m.u[level]
		for j := range w.columns {
			r := w.r[j*p : j*p+j+1]
			v := w.at(j, k, level) - w.columns[j].centre
			for i, x := range r[:j] {
				v -= x * u[i]
			}
			u[j] = v / r[j]
		}
	}
	m.clear(df, m.live)
	for a, i := range m.live {
		m.meanVar[i] = base + product(m.u[i], m.u[i])
		for _, j := range m.live[:a] {
			var v, ij float64
			for h, x := range m.u[i] {
				d := x - m.u[j][h]
				v += d * d
				ij += d * m.u[j][h]
			}
			m.set(i, j, v, ij)
			m.set(j, i, v, -ij-v) // Cov(j − i, i) = −Cov(i − j, j) − Var(i − j)
		}
	}
}

// at is the value of column j at the mean of a level of factor k.
func (w *fit) at(j, k, level int) float64 {
	c := &w.columns[j]
	switch {
	case c.factor == slope:
		return 0
	case c.factor == position:
		same := 1
		for i := range w.columns {
			if w.columns[i].factor == position {
				same++
			}
		}
		return 1 / float64(same)
	case c.factor != k:
		return 1 / float64(len(w.mean[c.factor].live))
	case c.level == level:
		return 1
	}
	return 0
}

// solve fits a response, value by slot, and writes what came out.
func (w *fit) solve(y []float64, out []values) {
	e := w.e[:len(w.rows)]
	for i, s := range w.rows {
		e[i] = y[s]
	}
	base := w.centre(e)
	for j := range w.columns {
		c := &w.columns[j]
		z := product(c.x[c.lo:c.hi], e[c.lo:c.hi])
		w.z[j] = z
		for i, x := range c.x[c.lo:c.hi] {
			e[c.lo+i] -= z * x
		}
	}
	z := w.z[:len(w.columns)]
	rss := product(e, e)
	for k := range w.mean {
		m, v := &w.mean[k], &out[k]
		v.sigma2 = rss / m.df
		for _, i := range m.live {
			v.mean[i] = base + product(m.u[i], z)
		}
		n := len(v.mean)
		for _, i := range m.live {
			for _, j := range m.live {
				v.diff[i*n+j] = v.mean[i] - v.mean[j]
			}
		}
	}
}

func product(x, y []float64) float64 {
	var sum float64
	for i, v := range x {
		sum += v * y[i]
	}
	return sum
}

// grown returns x with length n, its content lost if it was shorter.
func grown(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	return x[:n]
}
