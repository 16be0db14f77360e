package mixed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	maxSteps    = 200
	settled     = 1e-6 // a Newton step in φ below this is the last: it leaves an error of about its square
	stuck       = 1e-4 // a step below this that rounding does not let lower the criterion is the last, too
	longestStep = 4.0
	largestPhi  = 25.0 // a level mean with 7e10 times the variance that the residual gives it
	vanishing   = 14.0 // with 1e6 times: where no optimum is found beyond, σ² is on its way to zero
)

// search minimises the REML criterion over
//
//	φi = log(1 + ni γi) ≥ 0,  ni the mean number of rows in a level of factor i,
//
// in which the criterion of a balanced layout of one factor is convex.
type search struct {
	m     *moments
	n     []float64
	steps int
}

func (s *search) gamma(phi []float64) []float64 {
	g := make([]float64, len(phi))
	for i, v := range phi {
		g[i] = math.Expm1(v) / s.n[i]
	}
	return g
}

// optimum is where a search ended.
type optimum struct {
	*point
	*derivatives
	steps    int
	gradient float64 // the largest derivative by a φ that is not held at 0
}

// minimise returns the lowest point found. From the best of some starting points
// it takes Newton steps until they are negligible, then looks along each axis for
// a lower valley, as the criterion of an unbalanced layout may have two.
func (m *moments) minimise() (*optimum, error) {
	s := &search{m: m, n: make([]float64, len(m.levels))}
	for i, l := range m.levels {
		s.n[i] = float64(m.n) / float64(l)
	}
	best, phi := math.Inf(1), make([]float64, len(s.n))
	for _, start := range []float64{0, math.Ln2, 2} {
		at := slices.Repeat([]float64{start}, len(s.n))
		if pt, ok := m.at(s.gamma(at)); ok && pt.value < best {
			best, phi = pt.value, at
		}
	}
	for range 10 {
		opt, ok := s.descend(phi)
		if !ok || slices.Max(phi) > largestPhi || !opt.regular(m.df) {
			if slices.Max(phi) > vanishing {
				return nil, ErrNoNoise
			}
			return nil, ErrNotConverged
		}
		if phi = s.lower(phi, opt.value); phi == nil {
			return opt, nil
		}
	}
	return nil, ErrNotConverged
}

// regular reports whether the expected information about the components can be
// inverted.
func (o *optimum) regular(df int) bool {
	_, ok := inverse(o.gram(df), 1)
	return ok
}

// lower returns a point on a line along one axis that is clearly below value, or
// nil.
func (s *search) lower(phi []float64, value float64) []float64 {
	for i := range phi {
		for _, v := range []float64{0, 0.3, 1, 2, 4} {
			at := slices.Clone(phi)
			at[i] = v
			if pt, ok := s.m.at(s.gamma(at)); ok && pt.value < value-1e-7 {
				return at
			}
		}
	}
	return nil
}

// descend moves phi to a minimum, or reports false.
func (s *search) descend(phi []float64) (*optimum, bool) {
	pt, ok := s.m.at(s.gamma(phi))
	if !ok {
		return nil, false
	}
	last := false
	for range maxSteps {
		d, ok := s.m.derivatives(pt)
		if !ok {
			return nil, false
		}
		s.steps++
		gradient, hessian, exact := s.slopes(pt, d)
		step := boxed(phi, len(phi), gradient, hessian)
		longest, slope, left := 0.0, 0.0, 0.0
		for i, v := range step {
			longest = max(longest, math.Abs(v))
			slope += v * gradient[i]
			if phi[i] > 0 {
				left = max(left, math.Abs(gradient[i]))
			}
		}
		here := &optimum{pt, d, s.steps, left}
		if last || longest == 0 {
			return here, true
		}
		last = longest <= settled && exact
		next, ok := s.along(phi, step, min(1, longestStep/longest), slope, pt)
		if !ok {
			return here, longest < stuck && exact
		}
		if pt = next; slices.Max(phi) > largestPhi {
			return nil, false
		}
	}
	return nil, false
}

// along moves phi by a part of the step that lowers the criterion, the longest of
// scale·2⁻ᵏ that does by a fair share of what the slope promises, and returns the
// point there. Where the promise drowns in rounding the step is taken as it is.
func (s *search) along(phi, step []float64, scale, slope float64, from *point) (*point, bool) {
	noise := s.m.noise(from)
	for range 60 {
		next := make([]float64, len(phi))
		for i := range next {
			if next[i] = phi[i] + scale*step[i]; scale == 1 && step[i] == -phi[i] {
				next[i] = 0
			}
		}
		if pt, ok := s.m.at(s.gamma(next)); ok && pt.value <= from.value+1e-4*scale*slope+noise {
			copy(phi, next)
			return pt, true
		}
		scale /= 2
	}
	return nil, false
}

// slopes returns the gradient of the criterion in φ and its Hessian or, where
// that is not positive definite, the expected one. With s = y'Py, in γ they are
//
//	gi  = tr PVi - (n-p) y'PViPy / s
//	hij = -tr PViPVj + (n-p) (2 y'PViPVjPy / s - (y'PViPy)(y'PVjPy) / s²)
//	eij = tr PViPVj - tr PVi tr PVj / (n-p)
//
// and dγi/dφi = d²γi/dφi² = (1+niγi)/ni.
func (s *search) slopes(pt *point, d *derivatives) (gradient []float64, hessian *mat.SymDense, exact bool) {
	k := len(pt.gamma)
	free := float64(s.m.df)
	gradient = make([]float64, k)
	hessian, expected := mat.NewSymDense(k, nil), mat.NewSymDense(k, nil)
	rate := make([]float64, k)
	for i := range k {
		rate[i] = pt.gamma[i] + 1/s.n[i]
		gradient[i] = rate[i] * (d.trace[i] - free*d.form[i]/pt.yPy)
	}
	for i := range k {
		for j := i; j < k; j++ {
			c := rate[i] * rate[j]
			h := free * (2*d.forms.At(i, j)/pt.yPy - d.form[i]/pt.yPy*d.form[j]/pt.yPy)
			hessian.SetSym(i, j, c*(h-d.traces.At(i, j)))
			expected.SetSym(i, j, c*(d.traces.At(i, j)-d.trace[i]*d.trace[j]/free))
		}
		hessian.SetSym(i, i, hessian.At(i, i)+gradient[i])
		expected.SetSym(i, i, expected.At(i, i)*(1+1e-8)+1e-12)
	}
	// What is held at zero has no say in whether this is a valley.
	var open []int
	for i := range k {
		if pt.gamma[i] > 0 || gradient[i] < 0 {
			open = append(open, i)
		}
	}
	var chol mat.Cholesky
	if len(open) == 0 || chol.Factorize(sub(hessian, open)) {
		return gradient, hessian, true
	}
	return gradient, expected, false
}

// boxed returns the step to a minimum of the quadratic model with gradient g and
// Hessian h, the first entries of φ, bounded in number, being ≥ 0: those that the
// model would take below zero are put there, and the others find their minimum
// given that.
func boxed(phi []float64, bounded int, g []float64, h *mat.SymDense) []float64 {
	step := make([]float64, len(phi))
	var open []int
	for i := range phi {
		if i >= bounded || phi[i] > 0 || g[i] < 0 {
			open = append(open, i)
		}
	}
	for len(open) > 0 {
		rhs := mat.NewVecDense(len(open), nil)
		for a, i := range open {
			r := -g[i]
			for j := range phi {
				if !slices.Contains(open, j) {
					r -= h.At(i, j) * step[j]
				}
			}
			rhs.SetVec(a, r)
		}
		var chol mat.Cholesky
		var x mat.VecDense
		if !chol.Factorize(sub(h, open)) || chol.SolveVecTo(&x, rhs) != nil {
			break
		}
		worst, below := -1, 0.0
		for a, i := range open {
			step[i] = x.AtVec(a)
			if v := phi[i] + step[i]; i < bounded && v < below {
				worst, below = a, v
			}
		}
		if worst < 0 {
			break
		}
		step[open[worst]] = -phi[open[worst]]
		open = slices.Delete(open, worst, worst+1)
	}
	var slope float64
	for i := range step {
		slope += step[i] * g[i]
	}
	if slope <= 0 {
		return step
	}
	for i := range step {
		step[i] = -g[i] / max(math.Abs(h.At(i, i)), 1e-12)
		if i < bounded {
			step[i] = max(-phi[i], step[i])
		}
	}
	return step
}

// sub returns the rows and columns of s that are listed.
func sub(s *mat.SymDense, at []int) *mat.SymDense {
	t := mat.NewSymDense(len(at), nil)
	for a, i := range at {
		for b := a; b < len(at); b++ {
			t.SetSym(a, b, s.At(i, at[b]))
		}
	}
	return t
}
