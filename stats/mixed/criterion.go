package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// point is the REML criterion at some variance ratios γ. With H as in the package
// comment and P = H⁻¹ - H⁻¹X(X'H⁻¹X)⁻¹X'H⁻¹, it is the part of -2 log likelihood
//
//	log|H| + log|X'H⁻¹X| + (n-p) log y'Py.
//
// H1 is the part of H that has the eliminated factor and the residual alone. In a
// level of n rows H1⁻¹ divides the mean by 1+nγ1 and leaves deviations from it, so
//
//	w = U'H1⁻¹U = within + Σ sums / (n (1+nγ1)),
//
// and H follows from the mixed-model equations (Henderson 1975, Biometrics 31:
// 423-447), scaled by √γ so that γ = 0 is no exception:
//
//	a = [I + γ^½ Z'H1⁻¹Z γ^½, γ^½ Z'H1⁻¹X; X'H1⁻¹Z γ^½, X'H1⁻¹X].
type point struct {
	gamma []float64
	root  []float64 // of each column of [Z X]: √γ of its factor, or 1
	value float64
	yPy   float64
	w     *mat.SymDense
	chol  mat.Cholesky // of a
	x     mat.VecDense // a x = [γ^½ Z'; X'] H1⁻¹ y, the scaled mixed-model equations
}

// at evaluates the criterion. It reports false where rounding makes a
// indefinite.
func (m *moments) at(gamma []float64) (*point, bool) {
	c := m.cols()
	pt := &point{gamma: gamma, root: make([]float64, c-1)}
	logdet := 0.0
	pt.w = m.weighted(gamma, func(n, d float64) float64 { return d / n })
	pt.w.AddSym(pt.w, m.within)
	for k, n := range m.size {
		logdet += m.repeat[k] * math.Log1p(n*gamma[m.first])
	}
	for k := range pt.root {
		pt.root[k] = 1
		if k < m.q {
			pt.root[k] = math.Sqrt(gamma[m.factor[k]])
		}
	}
	a := mat.NewSymDense(c-1, nil)
	for i := range c - 1 {
		for j := i; j < c-1; j++ {
			a.SetSym(i, j, pt.root[i]*pt.root[j]*pt.w.At(i, j))
		}
		if i < m.q {
			a.SetSym(i, i, a.At(i, i)+1)
		}
	}
	if !pt.chol.Factorize(a) {
		return nil, false
	}
	rhs := mat.NewVecDense(c-1, nil)
	for i := range c - 1 {
		rhs.SetVec(i, pt.root[i]*pt.w.At(i, c-1))
	}
	if pt.chol.SolveVecTo(&pt.x, rhs) != nil {
		return nil, false
	}
	pt.yPy = pt.w.At(c-1, c-1) - mat.Dot(rhs, &pt.x)
	pt.value = logdet + pt.chol.LogDet() + float64(m.df)*math.Log(pt.yPy)
	return pt, pt.yPy > 0
}

// weighted returns the sum of m.sums with weights that depend on the number of
// rows n in a level and on d = 1/(1+nγ1).
func (m *moments) weighted(gamma []float64, weight func(n, d float64) float64) *mat.SymDense {
	s := mat.NewSymDense(m.cols(), nil)
	var term mat.SymDense
	for k, n := range m.size {
		term.ScaleSym(weight(n, 1/(1+n*gamma[m.first])), m.sums[k])
		s.AddSym(s, &term)
	}
	return s
}

// largest returns the factor with the largest 1+nγ, n the mean number of rows in a
// level, and that.
func (m *moments) largest(gamma []float64) (factor int, ratio float64) {
	for i, g := range gamma {
		if v := 1 + g*float64(m.n)/float64(m.levels[i]); v > ratio {
			factor, ratio = i, v
		}
	}
	return factor, ratio
}

// noise bounds the rounding error of the value: small parts of a and of y'Py meet
// parts that are up to 1+nγ times as large.
func (m *moments) noise(pt *point) float64 {
	_, ratio := m.largest(pt.gamma)
	return 1e-13*(math.Abs(pt.value)+float64(m.n)) + 1e-15*float64(m.n)*ratio
}

// dense returns a full copy of a symmetric matrix.
func dense(s *mat.SymDense) *mat.Dense { return mat.DenseCopyOf(s) }
