package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// inference holds what tests and standard errors need, in the basis of the fixed
// part and in units where σ² = 1. The parameters of V are, in this order, the
// variances of the random factors and a factor on V as a whole: the same space as
// with the residual's variance in its place, and every formula is unchanged by
// that, but V⁻¹VV⁻¹ = V⁻¹ makes the last one trivial.
type inference struct {
	phi      *mat.SymDense   // Φ = (X'H⁻¹X)⁻¹
	adjusted *mat.SymDense   // Φ with the correction of Kenward & Roger
	slope    []*mat.SymDense // ∂Φ by each parameter: Φ X'H⁻¹ Vi H⁻¹X Φ
	expected *mat.SymDense   // covariance of the parameters by the expected information
	observed *mat.SymDense   // by the observed information; rows of components at zero are zero
	half     *mat.TriDense   // upper triangle with half'half = X'H⁻¹X
}

func (r *Result) newInference() *inference {
	m, d := r.moments, r.opt.derivatives
	f, p, c := len(r.random), m.p, m.cols()
	in := &inference{phi: mat.NewSymDense(p, nil), slope: make([]*mat.SymDense, f+1)}
	for i := range p {
		for j := i; j < p; j++ {
			in.phi.SetSym(i, j, (d.k.At(m.q+i, m.q+j)+d.k.At(m.q+j, m.q+i))/2)
		}
	}
	var u mat.TriDense
	r.opt.chol.UTo(&u)
	in.half = mat.NewTriDense(p, mat.Upper, nil)
	for i := range p {
		for j := i; j < p; j++ {
			in.half.SetTri(i, j, u.At(m.q+i, m.q+j))
		}
	}
	in.expected, _ = inverse(d.gram(r.DF), 2) // regular, or there would be no optimum
	in.observed = r.observed()

	// H⁻¹XΦ = H1⁻¹ U t with t the last columns of k.
	t := d.k.Slice(0, c-1, m.q, c-1)
	var s2t, s3t, ks2t mat.Dense
	s2 := dense(d.s2)
	s2t.Mul(s2.Slice(0, c, 0, c-1), t)
	s3t.Mul(dense(d.s3).Slice(0, c-1, 0, c-1), t)
	ks2t.Mul(d.k, s2t.Slice(0, c-1, 0, p))

	// inner[i][j] = Φ X'H⁻¹ Vi P Vj H⁻¹X Φ: Q_ij - P_iΦP_j in the paper. That of V
	// with anything is zero.
	var correction mat.Dense
	correction.CloneFrom(mat.NewDense(p, p, nil))
	add := func(weight float64, a, b mat.Matrix) {
		var ab mat.Dense
		ab.Mul(a, b)
		ab.Scale(weight, &ab)
		correction.Add(&correction, &ab)
	}
	for i := range f {
		if i == m.first {
			var v mat.Dense
			v.Mul(t.T(), s2t.Slice(0, c-1, 0, p))
			in.slope[i] = symmetric(&v)
			w := in.expected.At(i, i)
			add(w, t.T(), &s3t)
			add(-w, s2t.Slice(0, c-1, 0, p).T(), &ks2t)
			continue
		}
		zi := d.zx.Slice(m.from[i], m.from[i]+m.levels[i], 0, p)
		var v mat.Dense
		v.Mul(zi.T(), zi)
		in.slope[i] = symmetric(&v)
		// Z'P Vj H⁻¹XΦ for the eliminated factor, both ways round
		var cross mat.Dense
		cross.Mul(d.r.Slice(0, c, m.from[i], m.from[i]+m.levels[i]).T(), &s2t)
		add(in.expected.At(i, m.first), zi.T(), &cross)
		add(in.expected.At(i, m.first), cross.T(), zi)
		for j := range f {
			if j != m.first {
				var gz mat.Dense
				gz.Mul(d.g.Slice(m.from[i], m.from[i]+m.levels[i], m.from[j], m.from[j]+m.levels[j]),
					d.zx.Slice(m.from[j], m.from[j]+m.levels[j], 0, p))
				add(in.expected.At(i, j), zi.T(), &gz)
			}
		}
	}
	in.slope[f] = in.phi
	in.adjusted = symmetric(&correction)
	in.adjusted.ScaleSym(2, in.adjusted)
	in.adjusted.AddSym(in.adjusted, in.phi)
	if r.Method == Satterthwaite {
		in.adjusted = in.phi
	}
	return in
}

// observed returns twice the inverse of the second derivatives of -2 log
// likelihood by the components that are not zero and the factor on V:
//
//	-tr PViPVj + 2 y'PViPVjPy/σ²,  -tr PVi + 2 y'PViPy/σ²,  n-p.
//
// Where that is not positive definite the expected information stands in.
func (r *Result) observed() *mat.SymDense {
	d := r.opt.derivatives
	s2 := r.opt.yPy / float64(r.DF)
	f := len(r.random)
	info := d.gram(r.DF)
	var free []int
	for i := range f {
		if r.opt.gamma[i] > 0 {
			free = append(free, i)
		}
	}
	free = append(free, f)
	expected := sub(info, free)
	for i := range f {
		for j := i; j < f; j++ {
			info.SetSym(i, j, 2*d.forms.At(i, j)/s2-d.traces.At(i, j))
		}
		info.SetSym(i, f, 2*d.form[i]/s2-d.trace[i])
	}
	v, ok := inverse(sub(info, free), 2)
	if !ok {
		v, _ = inverse(expected, 2)
	}
	out := mat.NewSymDense(f+1, nil)
	for a, i := range free {
		for b := a; b < len(free); b++ {
			out.SetSym(i, free[b], v.At(a, b))
		}
	}
	return out
}

// components returns the covariance matrix, over σ⁴, of the estimated variances of
// the random factors and, last, of the residual, by the expected information.
// With t the factor on V and δi what is added to component i, component i is
// t γi + δi, and the residual t.
func (in *inference) components(gamma []float64) *mat.SymDense {
	k := len(gamma)
	j := mat.NewDense(k+1, k+1, nil)
	for i, g := range gamma {
		j.Set(i, i, 1)
		j.Set(i, k, g)
	}
	j.Set(k, k, 1)
	var jv, v mat.Dense
	jv.Mul(j, in.expected)
	v.Mul(&jv, j.T())
	return symmetric(&v)
}

// df returns the degrees of freedom of the contrast with weights u on the
// coordinates of the fixed part:
//
//	2 (u'Φu)² / (g' W g),  gi = u' ∂Φi u.
//
// With W from the expected information this is what the equations of Kenward &
// Roger come to for one contrast, and their scale is 1.
func (r *Result) df(u []float64) float64 {
	in := r.kr
	w := in.expected
	if r.Method == Satterthwaite {
		w = in.observed
	}
	at := mat.NewVecDense(len(u), u)
	g := mat.NewVecDense(len(in.slope), nil)
	for i, s := range in.slope {
		g.SetVec(i, mat.Inner(at, s, at))
	}
	v := mat.Inner(at, in.phi, at)
	return 2 * v * v / mat.Inner(g, w, g)
}

// inverse returns a multiple of the inverse of a matrix, or false where that is
// not positive definite. It is scaled to a diagonal of ones beforehand.
func inverse(s *mat.SymDense, times float64) (*mat.SymDense, bool) {
	n := s.SymmetricDim()
	root := make([]float64, n)
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		if root[i] = math.Sqrt(s.At(i, i)); !(root[i] > 0) {
			return nil, false
		}
		for j := range i + 1 {
			scaled.SetSym(i, j, s.At(i, j)/(root[i]*root[j]))
		}
	}
	var chol mat.Cholesky
	out := mat.NewSymDense(n, nil)
	if !chol.Factorize(scaled) || chol.InverseTo(out) != nil {
		return nil, false
	}
	for i := range n {
		for j := range i + 1 {
			out.SetSym(i, j, times*out.At(i, j)/(root[i]*root[j]))
		}
	}
	return out, true
}

// symmetric returns the symmetric part of a square matrix.
func symmetric(d *mat.Dense) *mat.SymDense {
	n, _ := d.Dims()
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, (d.At(i, j)+d.At(j, i))/2)
		}
	}
	return s
}

// quadratic returns u'Su.
func quadratic(u []float64, s *mat.SymDense) float64 {
	var v float64
	raw := s.RawSymmetric()
	for i, x := range u {
		row := raw.Data[i*raw.Stride:]
		v += x * (row[i]*x + 2*floats.Dot(row[i+1:len(u)], u[i+1:]))
	}
	return v
}
