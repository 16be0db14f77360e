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
	var b mat.VecDense
	if pt.chol.SolveVecTo(&b, rhs) != nil {
		return nil, false
	}
	pt.yPy = pt.w.At(c-1, c-1) - mat.Dot(rhs, &b)
	pt.value = logdet + pt.chol.LogDet() + float64(m.n-m.p)*math.Log(pt.yPy)
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

// derivatives holds, for random factors i and j with Vi = Zi Zi',
//
//	trace[i]    = tr P Vi          form[i]    = y'P Vi P y
//	traces[i,j] = tr P Vi P Vj     forms[i,j] = y'P Vi P Vj P y.
//
// s2 and s3 are U'H1⁻¹V1H1⁻¹U and U'H1⁻¹V1H1⁻¹V1H1⁻¹U, V1 that of the factor
// eliminated; k is the inverse of a in the scale of U; PU = H1⁻¹ U r, and g = U'PU.
type derivatives struct {
	trace, form   []float64
	traces, forms *mat.SymDense

	s2, s3 *mat.SymDense
	k      *mat.Dense
	r, g   *mat.Dense
}

// derivatives evaluates them at a point.
func (m *moments) derivatives(pt *point) (*derivatives, bool) {
	c := m.cols()
	f := len(pt.gamma)
	d := &derivatives{
		trace: make([]float64, f), form: make([]float64, f),
		traces: mat.NewSymDense(f, nil), forms: mat.NewSymDense(f, nil),
		s2: m.weighted(pt.gamma, func(_, d float64) float64 { return d * d }),
		s3: m.weighted(pt.gamma, func(n, d float64) float64 { return n * d * d * d }),
	}
	var inverse mat.SymDense
	if pt.chol.InverseTo(&inverse) != nil {
		return nil, false
	}
	d.k = mat.NewDense(c-1, c-1, nil)
	for i := range c - 1 {
		for j := range c - 1 {
			d.k.Set(i, j, pt.root[i]*pt.root[j]*inverse.At(i, j))
		}
	}
	w := dense(pt.w)
	var kw mat.Dense
	kw.Mul(d.k, w.Slice(0, c-1, 0, c))
	d.r = mat.NewDense(c, c, nil)
	for i := range c {
		for j := range c {
			if i < c-1 {
				d.r.Set(i, j, -kw.At(i, j))
			}
		}
		d.r.Set(i, i, d.r.At(i, i)+1)
	}
	d.g = &mat.Dense{}
	d.g.Mul(w, d.r)
	m.eliminated(pt, d)
	m.others(d)
	m.mixedPairs(d)
	return d, true
}

// eliminated sets the entries of the eliminated factor, whose
//
//	Z1'PZ1 = E - D u k u'D,  Z1'Py = D u r_y,
//
// E = diag(n/(1+nγ1)), D = diag(1/(1+nγ1)) and u its level sums of U.
func (m *moments) eliminated(pt *point, d *derivatives) {
	c := m.cols()
	s2, s3 := dense(d.s2), dense(d.s3)
	var ks2 mat.Dense
	ks2.Mul(d.k, s2.Slice(0, c-1, 0, c-1))
	trace := -mat.Trace(&ks2)
	var traces float64
	for k, n := range m.size {
		e := n / (1 + n*pt.gamma[m.first])
		trace += m.repeat[k] * e
		traces += m.repeat[k] * e * e
	}
	for i := range c - 1 {
		for j := range c - 1 {
			traces += ks2.At(i, j)*ks2.At(j, i) - 2*d.k.At(i, j)*d.s3.At(i, j)
		}
	}
	y := d.r.ColView(c - 1)
	var s2y, s3y, ky mat.VecDense
	s2y.MulVec(s2, y)
	s3y.MulVec(s3, y)
	head := s2y.SliceVec(0, c-1)
	ky.MulVec(d.k, head)
	d.trace[m.first], d.form[m.first] = trace, mat.Dot(y, &s2y)
	d.traces.SetSym(m.first, m.first, traces)
	d.forms.SetSym(m.first, m.first, mat.Dot(y, &s3y)-mat.Dot(head, &ky))
}

// others sets the entries of the factors in Z, from Z'PZ and Z'Py, which are
// parts of g.
func (m *moments) others(d *derivatives) {
	y := m.cols() - 1
	for i := range m.q {
		fi := m.factor[i]
		d.trace[fi] += d.g.At(i, i)
		d.form[fi] += d.g.At(i, y) * d.g.At(i, y)
		for j := range m.q {
			if fj := m.factor[j]; fi <= fj {
				g := d.g.At(i, j)
				d.traces.SetSym(fi, fj, d.traces.At(fi, fj)+g*g)
				d.forms.SetSym(fi, fj, d.forms.At(fi, fj)+d.g.At(i, y)*g*d.g.At(j, y))
			}
		}
	}
}

// mixedPairs sets the entries of the eliminated factor with each in Z, from
// U'P V1 PU = r's2r.
func (m *moments) mixedPairs(d *derivatives) {
	c := m.cols()
	var s2r mat.Dense
	s2r.Mul(d.s2, d.r)
	for i := range m.q {
		fi := m.factor[i]
		var own, withY float64
		for k := range c {
			own += d.r.At(k, i) * s2r.At(k, i)
			withY += d.r.At(k, i) * s2r.At(k, c-1)
		}
		d.traces.SetSym(fi, m.first, d.traces.At(fi, m.first)+own)
		d.forms.SetSym(fi, m.first, d.forms.At(fi, m.first)+withY*d.g.At(i, c-1))
	}
}

// dense returns a full copy of a symmetric matrix.
func dense(s *mat.SymDense) *mat.Dense { return mat.DenseCopyOf(s) }
