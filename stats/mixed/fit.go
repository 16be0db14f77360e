package mixed

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"fairrun/stats/linmod"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Result is a fitted model. It refers to the columns of the model and to the
// response it was fitted to, which must not change while the result is in use.
// Its methods may be called at the same time.
type Result struct {
	N      int    // rows used
	Rank   int    // p: independent columns of the fixed part, the constant among them
	DF     int    // N - Rank
	Used   []bool // of each row: whether it has a response, every factor and every covariate
	Method Method

	Components []Component // one for each random factor in the order of the model, the residual last
	Sigma2     float64     // variance of the residual

	// Criterion is -2 log of the restricted likelihood at its maximum, with all its
	// constants, for the columns of linmod with covariates in their own unit.
	Criterion float64
	Steps     int     // of Newton's method
	Gradient  float64 // of the criterion by log(1 + n γ), n the rows per level: the largest left over

	factors []linmod.Factor // of the fixed part
	columns *linmod.Columns
	basis   *basis
	random  []grouping
	y       []float64
	centre  float64     // taken from the response
	scale   float64     // then divided out of its residuals from the fixed part
	scaled  []float64   // what that leaves
	touched [][]float64 // what the random factors touch of the basis
	search  *moments    // of that alone
	moments *moments    // of the whole basis
	opt     *optimum
	beta    []float64 // coordinates of the fitted fixed part in the basis, in the unit of the response
	kr      *inference
}

// Fit fits a model to a response by REML. Rows whose response or a covariate is
// NaN, or that lack the code of a factor, are left out.
//
// The errors wrap those of this package or those of linmod.Fit. A fixed term that
// others explain is no error: its row in the analysis of variance has 0 degrees of
// freedom, an estimate is not estimable.
//
// Fit panics if a column does not have a row for each entry of y, or a code is
// not among the levels of its factor.
func Fit(m Model, y []float64) (*Result, error) {
	if len(m.Random) == 0 {
		return nil, ErrNoRandom
	}
	m.check(len(y))
	response := append([]float64(nil), y...)
	for i := range m.Random {
		for row, c := range m.Random[i].Code {
			if c < 0 {
				response[row] = math.NaN()
			}
		}
	}
	columns, err := m.Fixed.Columns(response)
	if err != nil {
		return nil, err
	}
	r := &Result{N: len(columns.Rows), Used: make([]bool, len(y)), Method: m.Method, factors: m.Fixed.Factors, columns: columns, y: y}
	for _, row := range columns.Rows {
		r.Used[row] = true
	}
	for i := range m.Random {
		r.random = append(r.random, newGrouping(&m.Random[i], columns.Rows))
	}
	if err := r.checkGroups(m.Random); err != nil {
		return nil, err
	}
	r.basis = orthogonalise(columns)
	r.Rank = r.basis.rank()
	if r.DF = r.N - r.Rank; r.DF == 0 {
		return nil, ErrSaturated
	}
	if err := r.project(); err != nil {
		return nil, err
	}
	r.touched = touched(r.basis.q, r.random)
	if r.search, err = newMoments(r.touched, r.Rank, r.scaled, r.random, r.most()); err != nil {
		return nil, err
	}
	if err := r.checkSeparable(m.Random); err != nil {
		return nil, err
	}
	if err := r.minimise(); err != nil {
		return nil, err
	}
	if err := r.whole(); err != nil {
		return nil, err
	}
	r.collect(m.Random)
	return r, nil
}

// checkGroups returns an error for a random factor that is none, or no other than
// the residual or one before it.
func (r *Result) checkGroups(random []linmod.Factor) error {
	fault := func(i int, err error) error { return fmt.Errorf("random factor %q: %w", random[i].Name, err) }
	for i := range r.random {
		g := &r.random[i]
		switch len(g.count) {
		case 1:
			return fault(i, ErrOneLevel)
		case r.N:
			return fault(i, ErrRowPerLevel)
		}
		for j := range i {
			if sameGroups(g, &r.random[j]) {
				return fault(i, fmt.Errorf("%w: %q", ErrSameGroups, random[j].Name))
			}
		}
	}
	return nil
}

// sameGroups reports whether two factors split the rows alike.
func sameGroups(a, b *grouping) bool {
	if len(a.count) != len(b.count) {
		return false
	}
	to := make([]int32, len(a.count))
	for i := range to {
		to[i] = -1
	}
	for row, c := range a.code {
		if to[c] < 0 {
			to[c] = b.code[row]
		}
		if to[c] != b.code[row] {
			return false
		}
	}
	return true
}

// most returns the random factor with most levels.
func (r *Result) most() int {
	first := 0
	for i := range r.random {
		if len(r.random[i].count) > len(r.random[first].count) {
			first = i
		}
	}
	return first
}

// minimise sets the optimum. Where levels differ very much more than runs do, two
// things cost digits: eliminating another factor than that one, and a response
// whose least-squares fit has carried the differences between levels into the
// runs within them. The search is then repeated from what it has found.
func (r *Result) minimise() error {
	const tooMuch = 1e3
	opt, err := r.search.minimise()
	var pt *point
	var factor int
	switch {
	case err == nil:
		r.opt, pt = opt, opt.point
		var ratio float64
		if factor, ratio = r.search.largest(pt.gamma); ratio < tooMuch {
			return nil
		}
	case errors.Is(err, ErrNoNoise):
		factor = r.furthest()
		gamma := make([]float64, len(r.random))
		gamma[factor] = tooMuch
		var ok bool
		if pt, ok = r.search.at(gamma); !ok {
			return err
		}
	default:
		return err
	}
	scaled, beta := r.recentred(pt)
	m, tooLarge := newMoments(r.touched, r.Rank, scaled, r.random, factor)
	if tooLarge != nil {
		if m, tooLarge = newMoments(r.touched, r.Rank, scaled, r.random, r.search.first); tooLarge != nil {
			return err
		}
	}
	if opt, failed := m.minimise(); failed == nil {
		r.search, r.opt, r.scaled, r.beta, err = m, opt, scaled, beta, nil
	}
	return err
}

// recentred returns the scaled response less the generalised least-squares fit at
// a point, and the coordinates of the fixed part with that added. The criterion
// does not change.
func (r *Result) recentred(pt *point) (scaled, beta []float64) {
	scaled, beta = slices.Clone(r.scaled), slices.Clone(r.beta)
	for j, t := range r.touched {
		x := pt.x.AtVec(r.search.q + j)
		floats.AddScaled(scaled, -x, t)
		for k, q := range r.basis.q {
			beta[k] += r.scale * x * floats.Dot(t, q)
		}
	}
	return scaled, beta
}

// whole takes the optimum over to the whole basis, which the standard errors need.
func (r *Result) whole() error {
	if r.moments = r.search; len(r.touched) == r.Rank {
		return nil
	}
	m, err := newMoments(r.basis.q, r.Rank, r.scaled, r.random, r.search.first)
	if err != nil {
		return err
	}
	pt, ok := m.at(r.opt.gamma)
	if !ok {
		return ErrNotConverged
	}
	d, ok := m.derivatives(pt)
	if !ok {
		return ErrNotConverged
	}
	r.moments, r.opt = m, &optimum{pt, d, r.opt.steps, r.opt.gradient}
	return nil
}

// furthest returns the random factor whose levels lie furthest apart in what the
// fixed part leaves: the one with the largest mean square between levels.
func (r *Result) furthest() int {
	best, at := 0.0, 0
	for i := range r.random {
		g := &r.random[i]
		sums := make([]float64, len(g.count))
		for row, l := range g.code {
			sums[l] += r.scaled[row]
		}
		var ms float64
		for l, s := range sums {
			ms += s * s / float64(g.count[l])
		}
		if ms /= float64(len(sums)); ms > best {
			best, at = ms, i
		}
	}
	return at
}

// project takes the least-squares fit of the fixed part out of the response, and
// scales what is left to a mean square of 1 on DF degrees of freedom.
func (r *Result) project() error {
	const ulp = 0x1p-52
	e := make([]float64, r.N)
	for i, row := range r.columns.Rows {
		e[i] = r.y[row]
	}
	largest := max(floats.Max(e), -floats.Min(e))
	r.centre = floats.Sum(e) / float64(r.N)
	floats.AddConst(-r.centre, e)
	spread := floats.Norm(e, math.Inf(1))
	if math.IsInf(spread*spread*float64(r.N), 0) || math.IsNaN(spread) {
		return fmt.Errorf("square of the response: %w", linmod.ErrInfinite)
	}
	r.beta = r.basis.takeOut(e)
	r.scale = floats.Norm(e, 2) / math.Sqrt(float64(r.DF))
	if r.scale <= ulp*largest+16*ulp*spread || r.scale*r.scale < 1e-290 {
		return ErrNoNoise
	}
	floats.Scale(1/r.scale, e)
	r.scaled = e
	return nil
}

// checkSeparable returns an error for a random factor that leaves no trace beside
// the fixed part, or none of its own beside the residual and the random factors
// before it. In the space that the fixed part leaves, the matrices I and Vi must
// be linearly independent: their inner products tr PViPVj at γ = 0 must have no
// pivot that is zero.
func (r *Result) checkSeparable(random []linmod.Factor) error {
	const negligible = 1e-9
	k := len(random)
	pt, ok := r.search.at(make([]float64, k))
	if !ok {
		return ErrNotConverged
	}
	d, ok := r.search.derivatives(pt)
	if !ok {
		return ErrNotConverged
	}
	size := make([]float64, k+1)
	size[k] = 1 / math.Sqrt(float64(r.DF))
	for i := range k {
		if d.trace[i] <= negligible*float64(r.N) {
			return fmt.Errorf("random factor %q: %w", random[i].Name, ErrExplained)
		}
		size[i] = 1 / math.Sqrt(d.traces.At(i, i))
	}
	gram := d.gram(r.DF)
	var basis []*mat.VecDense // rows of the Cholesky factor of the scaled matrix, the residual first
	for step := range k + 1 {
		i := (step + k) % (k + 1)
		row := mat.NewVecDense(k+1, nil)
		pivot := 1.0
		for h, b := range basis {
			j := (h + k) % (k + 1)
			v := gram.At(i, j) * size[i] * size[j]
			for g := range h {
				v -= row.AtVec(g) * b.AtVec(g)
			}
			v /= b.AtVec(h)
			row.SetVec(h, v)
			pivot -= v * v
		}
		if pivot <= negligible {
			return fmt.Errorf("random factor %q: %w", random[i].Name, ErrInseparable)
		}
		row.SetVec(step, math.Sqrt(pivot))
		basis = append(basis, row)
	}
	return nil
}

// gram returns tr PViPVj for the random factors and, last, V/σ² in the place of
// the residual's I: tr PVPV = n-p, tr PVPVi = tr PVi.
func (d *derivatives) gram(df int) *mat.SymDense {
	k := len(d.trace)
	g := mat.NewSymDense(k+1, nil)
	for i := range k {
		for j := i; j < k; j++ {
			g.SetSym(i, j, d.traces.At(i, j))
		}
		g.SetSym(i, k, d.trace[i])
	}
	g.SetSym(k, k, float64(df))
	return g
}

// collect sets what the result says, from the optimum.
func (r *Result) collect(random []linmod.Factor) {
	m := r.moments
	s2 := r.opt.yPy / float64(r.DF)
	r.Sigma2 = s2 * r.scale * r.scale
	r.Steps, r.Gradient = r.opt.steps, r.opt.gradient
	r.Criterion = r.opt.value + float64(r.DF)*(math.Log(2*math.Pi*r.scale*r.scale/float64(r.DF))+1)
	for i, j := range r.basis.independent {
		r.Criterion += 2 * math.Log(math.Abs(r.basis.coord[j][i])*r.columns.Unit[j])
	}
	for k := range r.beta {
		r.beta[k] += r.scale * r.opt.x.AtVec(m.q+k)
	}
	r.kr = r.newInference()
	covariance := r.kr.components(r.opt.gamma)
	for i := range r.random {
		v := r.opt.gamma[i] * r.Sigma2
		r.Components = append(r.Components, Component{Name: random[i].Name, Levels: len(r.random[i].count),
			Variance: v, SD: math.Sqrt(v), SE: r.Sigma2 * math.Sqrt(covariance.At(i, i))})
	}
	last := len(random)
	r.Components = append(r.Components, Component{Name: "residual", Levels: r.N,
		Variance: r.Sigma2, SD: math.Sqrt(r.Sigma2), SE: r.Sigma2 * math.Sqrt(covariance.At(last, last))})
}
