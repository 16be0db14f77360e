package mixed

import (
	"math"

	"fairrun/stats/law"
	"fairrun/stats/linmod"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Row is a row of an analysis of variance.
type Row struct {
	Name    string   // of an interaction: "A × B", see [linmod.TermName]
	Factors []string // of a treatment term
	Kind    linmod.Kind
	DF      int     // 0 when the terms it is adjusted for leave nothing of it: then the rest is 0, and P is 1
	DenDF   float64 // denominator degrees of freedom
	F       float64 // the statistic, scaled
	Scale   float64 // what the Wald statistic over DF was multiplied by; 1 for Satterthwaite
	P       float64
}

// ANOVA returns a row for each block, covariate and treatment term in the order
// of linmod's ANOVA, with the same marginality: a term is adjusted for all terms
// that do not contain it, by generalised least squares at the fitted components.
func (r *Result) ANOVA() []Row {
	rows := make([]Row, len(r.columns.Terms))
	for t, term := range r.columns.Terms {
		before, own := r.columns.Type2(t)
		rows[t] = r.test(term.Name, term.Kind, before, own)
		rows[t].Factors = term.Factors
	}
	return rows
}

// Joint returns the row of all treatment terms together, given blocks and
// covariates. Its name is "treatments".
func (r *Result) Joint() Row {
	before, own := r.columns.Treatments()
	return r.test("treatments", linmod.TreatmentTerm, before, own)
}

// test returns the test of the columns own given the columns before. Those that
// are independent are rotated, in the metric of X'H⁻¹X, into orthonormal
// directions; the coefficients of own along them are what is tested.
func (r *Result) test(name string, kind linmod.Kind, before, own [][]int) Row {
	row := Row{Name: name, Kind: kind, P: 1}
	half := r.kr.half
	plain, metric := &basis{}, &basis{}
	var triangle [][]float64 // coordinates of the independent columns of own along its directions
	first := 0
	for i, set := range append(before, own...) {
		if i == len(before) {
			first = metric.rank()
		}
		x := r.basis.sum(set)
		var scale float64
		for _, j := range set {
			scale = math.Hypot(scale, r.columns.Scale[j])
		}
		v := append([]float64(nil), x...)
		plain.takeOut(v)
		length := floats.Norm(v, 2)
		if plain.rank() == len(v) || length <= linmod.DependentShare*scale {
			continue
		}
		floats.Scale(1/length, v)
		plain.q = append(plain.q, v)

		var wv mat.VecDense
		wv.MulVec(half, mat.NewVecDense(len(x), x))
		w := wv.RawVector().Data
		coord := metric.takeOut(w)
		length = floats.Norm(w, 2)
		floats.Scale(1/length, w)
		metric.q = append(metric.q, w)
		if i >= len(before) {
			triangle = append(triangle, append(coord[first:], length))
		}
	}
	if len(triangle) == 0 {
		return row
	}
	row.DF = len(triangle)
	l := mat.NewDense(row.DF, r.Rank, nil) // LΦL' = I
	for a, e := range metric.q[first:] {
		for k := range r.Rank {
			var v float64
			for h := range k + 1 {
				v += e[h] * half.At(h, k)
			}
			l.Set(a, k, v)
		}
	}
	if r.Method == Satterthwaite {
		r.satterthwaite(&row, l, triangle)
	} else {
		r.kenwardRoger(&row, l)
	}
	row.P = law.F{D1: float64(row.DF), D2: row.DenDF}.Survival(row.F)
	return row
}

// kenwardRoger fills in the test of Lβ = 0 for L with LΦL' = I.
func (r *Result) kenwardRoger(row *Row, l *mat.Dense) {
	q := float64(row.DF)
	in := r.kr
	slopes := make([]*mat.Dense, len(in.slope))
	traces := make([]float64, len(in.slope))
	for i, s := range in.slope {
		var ls, g mat.Dense
		ls.Mul(l, s)
		g.Mul(&ls, l.T())
		slopes[i], traces[i] = &g, mat.Trace(&g)
	}
	var a1, a2 float64
	for i, gi := range slopes {
		for j, gj := range slopes {
			w := in.expected.At(i, j)
			a1 += w * traces[i] * traces[j]
			a2 += w * floats.Dot(gi.RawMatrix().Data, gj.RawMatrix().Data)
		}
	}
	row.DenDF, row.Scale = matchF(q, a1, a2)
	row.F = row.Scale * r.wald(l, in.adjusted) / q
}

// matchF returns the denominator degrees of freedom and the scale for which an
// F law on q has the mean and variance that the statistic has to first order
// (Kenward & Roger 1997, section 4). For q = 1 they are 2/a2 and 1. An exact F
// statistic on m has a1 = 2q²/m, a2 = 2q/m, and gives m and 1 whatever m is; where
// no F law has those moments, m is taken from a2 in the same way.
func matchF(q, a1, a2 float64) (df, scale float64) {
	if q == 1 {
		return 2 / a2, 1
	}
	b := (a1 + 6*a2) / (2 * q)
	g := ((q+1)*a1 - (q+4)*a2) / ((q + 2) * a2)
	c := 3*q + 2*(1-g)
	v0, v1, v2 := 1+g/c*b, 1-(q-g)/c*b, 1-(q+2-g)/c*b
	e := 1 - a2/q
	ratio := 1.0
	if math.Abs(e) > 1e-10 || math.Abs(v1) > 1e-10 {
		ratio = e / v1
	}
	// df = 4 + (q+2) / (qρ - 1),  qρ = ratio² v0/v2
	df = 4 + (q+2)*v2/(ratio*ratio*v0-v2)
	if scale = df * e / (df - 2); math.Abs(df-2) < 1e-2 {
		scale = 1
	}
	if !(df > 0 && scale > 0) || math.IsInf(df, 0) {
		return 2 * q / a2, 1
	}
	return df, scale
}

// wald returns (Lβ)' (L cov L' σ²)⁻¹ Lβ.
func (r *Result) wald(l *mat.Dense, cov *mat.SymDense) float64 {
	var b, x mat.VecDense
	b.MulVec(l, mat.NewVecDense(r.Rank, r.beta))
	var lc, v mat.Dense
	lc.Mul(l, cov)
	v.Mul(&lc, l.T())
	var chol mat.Cholesky
	if !chol.Factorize(symmetric(&v)) || chol.SolveVecTo(&x, &b) != nil {
		return 0
	}
	return mat.Dot(&b, &x) / r.Sigma2
}

// satterthwaite fills in the test of Lβ = 0 as the mean of squared independent t
// statistics, along the eigenvectors of the covariance matrix of the term's own
// coefficients; with df νk of those, the denominator is
//
//	2E / (E - q),  E = Σ νk / (νk - 2)
//
// (Fai & Cornelius 1996, J. Statist. Comput. Simul. 54: 363-378), and 2 if one is
// 2 or less. The directions depend on how the term is written: as differences from
// the first level.
func (r *Result) satterthwaite(row *Row, l *mat.Dense, triangle [][]float64) {
	q := row.DF
	row.Scale, row.DenDF = 1, 2
	row.F = r.wald(l, r.kr.phi) / float64(q)
	// own = E T with T the triangle: the coefficients are T⁻¹ of those along E.
	t := mat.NewDense(q, q, nil)
	for j, c := range triangle {
		for i, v := range c {
			t.Set(i, j, v)
		}
	}
	var own, cov mat.Dense
	if own.Solve(t, l) != nil {
		return
	}
	var lp mat.Dense
	lp.Mul(&own, r.kr.phi)
	cov.Mul(&lp, own.T())
	var eigen mat.EigenSym
	if !eigen.Factorize(symmetric(&cov), true) {
		return
	}
	var vectors, along mat.Dense
	eigen.VectorsTo(&vectors)
	along.Mul(vectors.T(), &own)
	var e float64
	lo, hi := math.Inf(1), 0.0
	for k := range q {
		nu := r.df(along.RawRowView(k))
		lo, hi = min(lo, nu), max(hi, nu)
		e += nu / (nu - 2)
	}
	switch {
	case hi-lo < 1e-8*hi:
		row.DenDF = lo
	case lo > 2:
		row.DenDF = 2 * e / (e - float64(q))
	}
}
