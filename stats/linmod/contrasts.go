package linmod

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// OutsideShare is the part of a contrast's coordinates that may lie outside
// the row space of the design before it counts as not estimable.
const OutsideShare = 1e-8

// weightTolerance is the part of the weights of a contrast that rounding may leave
// of a sum of zero.
const weightTolerance = 1e-14

const panicWeights = "linmod: a contrast needs one weight for each mean"

// Estimates holds estimated contrasts.
type Estimates struct {
	Value     []float64     // NaN where not estimable
	Cov       *mat.SymDense // times Sigma2: the covariance matrix; NaN where not estimable; empty for no contrasts
	Estimable []bool
}

// All returns the means themselves.
func (m *Means) All() *Estimates {
	c := make([][]float64, len(m.N))
	for k := range c {
		c[k] = make([]float64, len(m.N))
		c[k][k] = 1
	}
	return m.Contrasts(c)
}

// Contrasts returns weighted sums of the means, one for each row of c, which
// holds a weight for each mean. The weights need not add to zero. A contrast may
// be estimable although the means in it are not: a difference within a block, say,
// when the blocks cannot be put on one footing.
//
// Contrasts panics if a row of c is not as long as there are means.
func (m *Means) Contrasts(c [][]float64) *Estimates {
	n := len(c)
	e := &Estimates{Value: make([]float64, n), Estimable: make([]bool, n), Cov: &mat.SymDense{}}
	u := newMatrix(m.u.rows, n)
	base := make([]float64, n)
	for i, weights := range c {
		if len(weights) != len(m.N) {
			panic(panicWeights)
		}
		e.Estimable[i] = m.estimable(weights)
		var size float64
		for k, w := range weights {
			base[i] += w
			size += math.Abs(w)
			if w != 0 {
				addScaled(u.col(i), w, m.u.col(k))
			}
		}
		if math.Abs(base[i]) <= weightTolerance*size {
			base[i] = 0
		}
		e.Value[i] = base[i]*m.base + dot(u.col(i), m.r.tri.z[:u.rows])
		if !e.Estimable[i] {
			e.Value[i] = math.NaN()
		}
	}
	if n == 0 {
		return e
	}
	e.Cov = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := math.NaN()
			if e.Estimable[i] && e.Estimable[j] {
				v = base[i]*base[j]*m.baseVar + dot(u.col(i), u.col(j))
			}
			e.Cov.SetSym(i, j, v)
		}
	}
	return e
}

// estimable reports whether a weighted sum of the means lies in the row space of
// the design.
func (m *Means) estimable(weights []float64) bool {
	out := make([]float64, m.outside.rows)
	var size float64
	for k, w := range weights {
		if w == 0 {
			continue
		}
		if m.unknown[k] {
			return false
		}
		addScaled(out, w, m.outside.col(k))
		size += math.Abs(w) * m.size[k]
	}
	for _, v := range out {
		if math.Abs(v) > OutsideShare*size {
			return false
		}
	}
	return true
}
