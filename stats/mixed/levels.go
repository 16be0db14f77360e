package mixed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Levels is what runs say of the levels of a factor, each by itself, where these scatter differently: by the runs of a
// treatment within a block (Games & Howell 1976), or by differences paired over blocks.
type Levels struct {
	within   bool
	share    float64     // of the degrees of freedom that drift leaves
	left     [][]float64 // of each block: what is left of the mean of each level; NaN without a run
	runs     [][]float64 // of each block: runs of each level
	variance []float64   // of a run of each level
	df       []float64   // behind it
}

// NewLevels sums up the residuals of a fit by least squares, NaN where a run is left out: codes are those of the block, the
// treatment and the level of each run, out of so many. Within says that the runs of a treatment in a block judge, and left is
// the share of the degrees of freedom that drift leaves.
func NewLevels(residuals []float64, block, treatment, level func(row int) int, blocks, treatments, levels int, within bool, left float64) *Levels {
	s := &Levels{within: within, share: left, variance: make([]float64, levels), df: make([]float64, levels)}
	sum, n := make([]float64, blocks*treatments), make([]float64, blocks*treatments)
	of := make([]int, treatments) // level of each treatment
	for range blocks {
		s.left, s.runs = append(s.left, make([]float64, levels)), append(s.runs, make([]float64, levels))
	}
	for row, v := range residuals {
		if math.IsNaN(v) {
			continue
		}
		t, k, b := treatment(row), level(row), block(row)
		of[t] = k
		sum[b*treatments+t] += v
		n[b*treatments+t]++
		s.left[b][k] += v
		s.runs[b][k]++
	}
	for row, v := range residuals {
		if !math.IsNaN(v) {
			t := treatment(row)
			c := block(row)*treatments + t
			d := v - sum[c]/n[c]
			s.variance[of[t]] += d * d
		}
	}
	for c, runs := range n {
		if runs > 0 {
			s.df[of[c%treatments]] += (runs - 1) * left
		}
	}
	for k := range s.variance {
		s.variance[k] /= s.df[k]
	}
	for b := range s.left {
		for k := range s.left[b] {
			s.left[b][k] /= s.runs[b][k]
		}
	}
	return s
}

// Contrasts estimates rows of weights of the levels' means, common being the same with a common noise.
func (s *Levels) Contrasts(rows [][]float64, common *Estimates) *Estimates {
	n := len(rows)
	out := &Estimates{Value: slices.Clone(common.Value), Cov: mat.NewSymDense(max(1, n), nil), DF: make([]float64, n), Estimable: slices.Clone(common.Estimable)}
	if n == 0 {
		return common
	}
	in := s.holding(rows)
	of := float64(len(in))
	for i, row := range rows {
		z := make([]float64, len(in))
		for a, b := range in {
			for k, w := range row {
				if w != 0 {
					z[a] += w * s.left[b][k]
				}
			}
			out.Value[i] += z[a] / of
		}
	}
	for i := range rows {
		v, df := s.uncertainty(rows[i], rows[i], in)
		for j := range i {
			c, _ := s.uncertainty(rows[i], rows[j], in)
			out.Cov.SetSym(i, j, c)
		}
		out.Cov.SetSym(i, i, v)
		if out.DF[i] = df; !(df > 0) || !(v >= 0) {
			out.Estimable[i] = false
		}
	}
	return out
}

// holding lists the blocks that hold every level that some row weighs.
func (s *Levels) holding(rows [][]float64) (in []int) {
	for b, left := range s.left {
		holds := true
		for _, row := range rows {
			for k, w := range row {
				holds = holds && (w == 0 || !math.IsNaN(left[k]))
			}
		}
		if holds {
			in = append(in, b)
		}
	}
	return in
}

// uncertainty is the covariance of two rows over the blocks given, and the degrees of freedom behind the first.
func (s *Levels) uncertainty(x, y []float64, in []int) (cov, df float64) {
	n := float64(len(in))
	if s.within {
		below := 0.0
		for k := range x {
			if x[k] == 0 {
				continue
			}
			per := 0.0
			for _, b := range in {
				per += 1 / s.runs[b][k]
			}
			own := s.variance[k] * per / (n * n)
			cov += x[k] * y[k] * own
			below += math.Pow(x[k]*x[k]*own, 2) / s.df[k]
		}
		return cov, cov * cov / below
	}
	var mx, my float64
	at := func(row []float64, b int) (z float64) {
		for k, w := range row {
			if w != 0 {
				z += w * s.left[b][k]
			}
		}
		return z
	}
	for _, b := range in {
		mx, my = mx+at(x, b)/n, my+at(y, b)/n
	}
	for _, b := range in {
		cov += (at(x, b) - mx) * (at(y, b) - my)
	}
	df = (n - 1) * s.share
	return cov / (df * n), df
}
