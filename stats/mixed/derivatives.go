package mixed

import "gonum.org/v1/gonum/mat"

// derivatives holds, for random factors i and j with Vi = Zi Zi',
//
//	trace[i]    = tr P Vi          form[i]    = y'P Vi P y
//	traces[i,j] = tr P Vi P Vj     forms[i,j] = y'P Vi P Vj P y,
//
// from which the derivatives of the criterion follow (Searle, Casella & McCulloch
// 1992, Variance Components, 6.6), and the matrices that they were made of:
//
//	s2 = U'H1⁻¹V1H1⁻¹U,  s3 = U'H1⁻¹V1H1⁻¹V1H1⁻¹U,  V1 of the factor eliminated,
//	k  = a⁻¹ in the scale of U,
//	r:  P[Z X y] = H1⁻¹ U r,
//	g  = Z'PZ,  y = Z'Py,  zx = Z'H⁻¹X (X'H⁻¹X)⁻¹.
//
// With w as in point, r = I - kw, g = Zr'wZ and so on would be differences of large
// numbers where γ is large. The mixed-model equations give the same with no
// difference left, but divide by γ:
//
//	r_z = k_z/γ,  g = (I - γ^-½ k γ^-½)/γ,  y = x_z/γ^½,  zx = -k_zx/γ.
//
// The first are used where nγ < 1, the second elsewhere.
type derivatives struct {
	trace, form   []float64
	traces, forms *mat.SymDense

	s2, s3 *mat.SymDense
	k      *mat.Dense
	r      *mat.Dense
	g      *mat.Dense
	y      []float64
	zx     *mat.Dense
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
	m.project(pt, d, &inverse)
	m.eliminated(pt, d)
	m.others(d)
	m.mixedPairs(d)
	return d, true
}

// project sets r, g, y and zx.
func (m *moments) project(pt *point, d *derivatives, inverse *mat.SymDense) {
	c := m.cols()
	d.r = mat.NewDense(c, c, nil)
	d.g = mat.NewDense(max(m.q, 1), max(m.q, 1), nil)
	d.y = make([]float64, m.q)
	d.zx = mat.NewDense(max(m.q, 1), max(m.p, 1), nil)
	for i := range c - 1 {
		d.r.Set(i, c-1, -pt.root[i]*pt.x.AtVec(i))
	}
	d.r.Set(c-1, c-1, 1)
	if m.q == 0 {
		return
	}
	var kw, wr, wk mat.Dense // [Z X] by Z, and w times the columns of Z and y of r
	w := dense(pt.w)
	kw.Mul(d.k, w.Slice(0, c-1, 0, m.q))
	large := make([]float64, m.q) // nγ
	for k := range m.q {
		f := m.factor[k]
		large[k] = pt.gamma[f] * float64(m.n) / float64(m.levels[f])
		for i := range c - 1 {
			switch {
			case large[k] > 1:
				d.r.Set(i, k, pt.root[i]*inverse.At(i, k)/pt.root[k])
			case i == k:
				d.r.Set(i, k, 1-kw.At(i, k))
			default:
				d.r.Set(i, k, -kw.At(i, k))
			}
		}
	}
	wr.Mul(w.Slice(0, m.q, 0, c), d.r)
	wk.Mul(w.Slice(0, m.q, 0, c-1), d.k.Slice(0, c-1, m.q, c-1))
	for k := range m.q {
		for l := range m.q {
			v := wr.At(k, l)
			if large[k]*large[l] > 1 {
				v = -inverse.At(k, l)
				if k == l {
					v++
				}
				v /= pt.root[k] * pt.root[l]
			}
			d.g.Set(k, l, v)
		}
		if large[k] > 1 {
			d.y[k] = pt.x.AtVec(k) / pt.root[k]
		} else {
			d.y[k] = wr.At(k, c-1)
		}
		for j := range m.p {
			if large[k] > 1 {
				d.zx.Set(k, j, -inverse.At(k, m.q+j)/pt.root[k])
			} else {
				d.zx.Set(k, j, wk.At(k, j))
			}
		}
	}
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

// others sets the entries of the factors in Z.
func (m *moments) others(d *derivatives) {
	for i := range m.q {
		fi := m.factor[i]
		d.trace[fi] += d.g.At(i, i)
		d.form[fi] += d.y[i] * d.y[i]
		for j := range m.q {
			if fj := m.factor[j]; fi <= fj {
				g := d.g.At(i, j)
				d.traces.SetSym(fi, fj, d.traces.At(fi, fj)+g*g)
				d.forms.SetSym(fi, fj, d.forms.At(fi, fj)+d.y[i]*g*d.y[j])
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
		d.forms.SetSym(fi, m.first, d.forms.At(fi, m.first)+withY*d.y[i])
	}
}
