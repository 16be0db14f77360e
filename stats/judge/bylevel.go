package judge

import "math"

// ByLevel judges levels that each have a noise of their own, as package verdict does where a plan says so: by the runs of
// a treatment within a block or, where those do not repeat or blocks are a sample, by differences paired over blocks. Blocks,
// drift and treatments are fitted as by [LeastSquares]. Its memory is used again. It may not be used by several goroutines.
type ByLevel struct {
	fit        *LeastSquares
	treatments int
	sample     bool // blocks are
	within     bool
	share      float64 // of the degrees of freedom that drift leaves
	known      bool    // the order can be fitted

	treatment []int // of each row
	block     []int
	sum, n    []float64 // of each block and treatment
	mean      []ownNoise
}

// ownNoise is what runs say of the levels of a factor, each by itself.
type ownNoise struct {
	Precision
	left, runs   []float64 // by block · levels + level: what is left of the mean, and how many runs
	variance, df []float64 // of a run of each level
}

// NewByLevel makes room for fits of a model whose treatments are 0 … treatments−1.
func NewByLevel(m *Model, treatments int, sample bool) *ByLevel {
	w := &ByLevel{fit: NewLeastSquares(m), treatments: treatments, sample: sample, sum: make([]float64, m.Blocks*treatments), n: make([]float64, m.Blocks*treatments)}
	for _, f := range m.Factors {
		n := m.Blocks * f.Levels
		w.mean = append(w.mean, ownNoise{newPrecision(f.Levels), make([]float64, n), make([]float64, n), make([]float64, f.Levels), make([]float64, f.Levels)})
	}
	return w
}

// Order fits the columns for the treatment of each slot and the slots that are good.
func (w *ByLevel) Order(treatment []int, good []bool) {
	w.known = w.fit.Order(treatment, good)
	w.treatment, w.block = w.treatment[:0], w.block[:0]
	clear(w.n)
	repeats := 0.0
	for _, s := range w.fit.rows {
		b := s / w.fit.model.Length
		w.treatment, w.block = append(w.treatment, treatment[s]), append(w.block, b)
		c := b*w.treatments + treatment[s]
		if w.n[c]++; w.n[c] > 1 {
			repeats++
		}
	}
	spent := 0.0
	for i := range w.fit.columns {
		if w.fit.columns[i].factor < 0 {
			spent++
		}
	}
	w.within, w.share = !w.sample && repeats > 0, 1
	if left := float64(len(w.fit.rows) - (len(w.fit.start) - 1) - len(w.fit.columns)); w.within {
		w.share = max(0, 1-spent/repeats)
	} else if left+spent > 0 {
		w.share = left / (left + spent)
	}
}

// Precision implements [Fitted].
func (w *ByLevel) Precision(k int) *Precision { return &w.mean[k].Precision }

// Solve implements [Fitted].
func (w *ByLevel) Solve(y []float64, out []Estimates) {
	for k := range w.mean {
		w.mean[k].clear(0, nil)
	}
	if !w.known {
		return
	}
	w.fit.Solve(y, out)
	e := w.fit.e[:len(w.fit.rows)]
	clear(w.sum)
	for i, v := range e {
		w.sum[w.block[i]*w.treatments+w.treatment[i]] += v
	}
	for k := range w.mean {
		w.gather(k, e)
		w.compare(k, &out[k])
	}
}

// gather sums up what is left of the runs at each level of factor k.
func (w *ByLevel) gather(k int, e []float64) {
	m, code, levels := &w.mean[k], w.fit.model.Factors[k].Code, w.fit.model.Factors[k].Levels
	for _, x := range [][]float64{m.left, m.runs, m.variance, m.df} {
		clear(x)
	}
	for i, v := range e {
		c, level := w.block[i]*w.treatments+w.treatment[i], code[w.treatment[i]]
		m.left[w.block[i]*levels+level] += v
		m.runs[w.block[i]*levels+level]++
		d := v - w.sum[c]/w.n[c]
		m.variance[level] += d * d
	}
	for c, n := range w.n {
		if n > 0 {
			m.df[code[c%w.treatments]] += (n - 1) * w.share
		}
	}
	for level := range m.variance {
		m.variance[level] /= m.df[level]
	}
	for i := range m.left {
		m.left[i] /= m.runs[i]
	}
}

// compare fills in the comparisons of factor k.
func (w *ByLevel) compare(k int, out *Estimates) {
	m := &w.mean[k]
	levels := len(m.variance)
	m.clear(math.Inf(1), w.fit.mean[k].live)
	if m.dfs == nil {
		m.dfs = make([]float64, levels*levels)
	}
	out.sigma2 = 1
	for a, i := range m.live {
		for _, j := range m.live[:a] {
			var n, mean, per, perJ, square, both, last float64
			for b := range w.fit.model.Blocks {
				x, z := m.left[b*levels+i], m.left[b*levels+j]
				if math.IsNaN(x) || math.IsNaN(z) {
					continue
				}
				n++
				mean += x - z
				last += z
				square += (x - z) * (x - z)
				both += (x - z) * z
				per += 1 / m.runs[b*levels+i]
				perJ += 1 / m.runs[b*levels+j]
			}
			d := out.mean[i] - out.mean[j] + mean/n
			out.diff[i*levels+j], out.diff[j*levels+i] = d, -d
			var v, with, df float64
			if w.within {
				vi, vj := m.variance[i]*per/(n*n), m.variance[j]*perJ/(n*n)
				v, with, df = vi+vj, -vj, (vi+vj)*(vi+vj)/(vi*vi/m.df[i]+vj*vj/m.df[j])
				m.meanVar[i], m.meanVar[j] = vi, vj
			} else {
				df = (n - 1) * w.share
				v, with = (square-mean*mean/n)/(df*n), (both-mean*last/n)/(df*n)
			}
			if !(df > 0) || !(v >= 0) {
				continue
			}
			m.both(i, j, v, with)
			m.dfs[i*levels+j], m.dfs[j*levels+i] = df, df
		}
	}
	if !w.within {
		w.ownVariance(k)
	}
}

// ownVariance is that of the mean of each level, over the blocks that hold it.
func (w *ByLevel) ownVariance(k int) {
	m := &w.mean[k]
	levels := len(m.variance)
	for _, i := range m.live {
		var n, sum, square float64
		for b := range w.fit.model.Blocks {
			if x := m.left[b*levels+i]; !math.IsNaN(x) {
				n, sum, square = n+1, sum+x, square+x*x
			}
		}
		m.meanVar[i] = (square - sum*sum/n) / ((n - 1) * w.share * n)
	}
}
