package judge

import (
	"math"
	"slices"

	"fairrun/stats/linmod"
)

// LeastSquares is the least squares fit of blocks, drift, covariates and treatments to the runs of one
// order, made once for all responses. Its memory is used again. It may not be used by several
// goroutines.
//
// Every column is first freed of the block means and then, twice, of the columns before it
// (Gram & Schmidt; twice is enough: Giraud, Langou & Rozložník 2005, Numerische Mathematik 101). With Q the columns that
// result and R their coordinates, an adjusted mean is
//
//	ȳ + u'z,    z = Q'y,    R'u = l − c
//
// where ȳ is the mean of the block means of the response, c that of the columns, and l the columns'
// values at the mean. Its variance over the noise's is Σ 1/(n_b B²) + u'u, that of a difference |u_i − u_j|².
//
// A slope that depends on the columns before it says nothing of the runs and is lost. Differences do not miss it; the
// means do, where they stand at another value of it than those columns give it there.
type LeastSquares struct {
	model *Model

	rows    []int // slots that are analysed and good
	start   []int // of each block that has any: its first row; one more at the end
	columns []column
	memory  []float64 // of the columns
	r       []float64 // R, column by column, stride apart
	stride  int
	lost    []lost
	carried int    // columns laid before those of carry-over
	before  []int  // of each row: level of the factor in hand in the run before, -1: none
	after   []bool // of each level: whether a run came after it

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

// lost is a slope that depends on the columns before it.
type lost struct {
	r      []float64 // its coordinates
	centre float64
	unit   float64 // its root mean square
}

// Columns that are not of a treatment.
const (
	slope    = -1 // centred: 0 at every mean
	position = -2 // an indicator, averaged over
)

// levels holds the adjusted means of a factor.
type levels struct {
	u [][]float64 // coordinates of each mean
	Precision
}

// NewLeastSquares makes room for fits of a model.
func NewLeastSquares(m *Model) *LeastSquares {
	w := &LeastSquares{model: m, e: make([]float64, m.slots())}
	for _, f := range m.Factors {
		w.mean = append(w.mean, levels{u: make([][]float64, f.Levels), Precision: newPrecision(f.Levels)})
	}
	return w
}

// Order fits the columns for the treatment of each slot and the slots that are good. It reports
// whether all columns but slopes are independent; otherwise the fit is of no use, and [General]
// serves.
func (w *LeastSquares) Order(treatment []int, good []bool) bool {
	w.take(good)
	w.columns, w.memory, w.lost = w.columns[:0], w.memory[:0], w.lost[:0]
	if len(w.rows) == 0 {
		return false
	}
	w.lay(treatment)
	p := len(w.columns)
	w.r = grown(w.r, p*p)
	w.z = grown(w.z, p)
	w.stride = p
	kept := 0
	for j := range w.columns {
		c := w.columns[j]
		length := math.Sqrt(product(c.x, c.x))
		switch w.columns[kept] = c; {
		case w.reduce(kept, length):
			kept++
		case c.factor == slope:
			w.lost = append(w.lost, lost{slices.Clone(w.r[kept*p : kept*p+kept]), w.columns[kept].centre, length / math.Sqrt(float64(c.hi-c.lo))})
		default:
			return false
		}
	}
	w.columns = w.columns[:kept]
	df := float64(len(w.rows) - (len(w.start) - 1) - kept)
	for k := range w.mean {
		w.means(k, df)
	}
	return true
}

// centre takes the block means from a column and returns their mean.
func (w *LeastSquares) centre(x []float64) float64 {
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

// reduce makes column j orthonormal to the blocks and the columns before it. It reports whether something of its length
// is left.
func (w *LeastSquares) reduce(j int, length float64) bool {
	c := &w.columns[j]
	r := w.r[j*w.stride : (j+1)*w.stride]
	clear(r)
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
	if !(rest > linmod.DependentShare*length) {
		return false
	}
	r[j] = rest
	for i := range c.x {
		c.x[i] /= rest
	}
	return true
}

// means finds the coordinates of the adjusted means of factor k and what is known of their precision.
func (w *LeastSquares) means(k int, df float64) {
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
		if w.model.Factors[k].Average {
			clear(u)
			of := w.model.averaged(k, level)
			for _, i := range of {
				for j, x := range w.mean[0].u[i] {
					u[j] += x / float64(len(of))
				}
			}
			continue
		}
		for j := range w.columns {
			r := w.r[j*w.stride : j*w.stride+j+1]
			v := w.at(j, k, level) - w.columns[j].centre
			for i, x := range r[:j] {
				v -= x * u[i]
			}
			u[j] = v / r[j]
		}
	}
	m.clear(df, m.live)
	for a, i := range m.live {
		if m.meanVar[i] = base + product(m.u[i], m.u[i]); w.misses(m.u[i]) {
			m.meanVar[i] = math.NaN()
		}
		for _, j := range m.live[:a] {
			var v, ij float64
			for h, x := range m.u[i] {
				d := x - m.u[j][h]
				v += d * d
				ij += d * m.u[j][h]
			}
			m.both(i, j, v, ij)
		}
	}
}

// misses reports whether a mean with the coordinates given stands at another value of a lost slope, 0, than that slope has there.
func (w *LeastSquares) misses(u []float64) bool {
	for _, l := range w.lost {
		there, size := l.centre, l.unit
		for i, x := range l.r {
			there += x * u[i]
			size += math.Abs(x * u[i])
		}
		if math.Abs(there) > linmod.OutsideShare*size {
			return true
		}
	}
	return false
}

// at is the value of column j at the mean of a level of factor k.
func (w *LeastSquares) at(j, k, level int) float64 {
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

// Precision implements [Fitted].
func (w *LeastSquares) Precision(k int) *Precision { return &w.mean[k].Precision }

// Lost returns how many slopes depend on the columns before them in this order.
func (w *LeastSquares) Lost() int { return len(w.lost) }

// Solve implements [Fitted].
func (w *LeastSquares) Solve(y []float64, out []Estimates) {
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
func grown[T any](x []T, n int) []T {
	if cap(x) < n {
		return make([]T, n)
	}
	return x[:n]
}
