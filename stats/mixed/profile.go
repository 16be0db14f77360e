package mixed

import (
	"math"
	"slices"

	"fairrun/stats/law"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Interval is a confidence interval of a standard deviation.
type Interval struct {
	Low  float64 // 0 where no difference at all is within what the data allow
	High float64 // +Inf where the data set no bound
}

// Intervals returns a confidence interval with the given level, such as 0.95, for
// the standard deviation of each of Components: the values at which the restricted
// likelihood, maximised over all others, is not below its maximum by more than
//
//	2 log likelihood ratio = χ²(level; 1).
//
// The intervals do not depend on whether one asks for standard deviations or
// variances. They are asymptotic: with very few levels they cover a little less
// than stated. For one factor and the classical interval of the residual, compare
// law.ChiSquared on its degrees of freedom.
func (r *Result) Intervals(level float64) ([]Interval, error) {
	cut := law.ChiSquared{DF: 1}.Quantile(level)
	out := make([]Interval, len(r.Components))
	for i := range out {
		p := r.profile(i)
		low, high, err := p.limits(cut)
		if err != nil {
			return nil, err
		}
		out[i] = Interval{Low: r.scale * math.Sqrt(low), High: r.scale * math.Sqrt(high)}
	}
	return out, nil
}

// profile is the restricted likelihood with one component held: a random factor,
// or the residual where it is the number of those.
type profile struct {
	r    *Result
	m    *moments // of the fit
	own  *moments // with the factor that is held eliminated; nil until it is needed
	held int
	best []float64 // the components, residual last, in the unit of the moments
	top  float64   // -2 log likelihood there, without constants
}

// profile prepares to hold a component.
func (r *Result) profile(held int) *profile {
	p := &profile{r: r, m: r.search, held: held}
	s2 := r.opt.yPy / float64(r.DF)
	for _, g := range r.opt.gamma {
		p.best = append(p.best, g*s2)
	}
	p.best = append(p.best, s2)
	df := float64(r.DF)
	p.top = r.opt.value - df*math.Log(r.opt.yPy) + df*math.Log(s2) + df
	return p
}

// limits returns the values of the held component at which the deviance is cut
// above its minimum.
func (p *profile) limits(cut float64) (low, high float64, err error) {
	best := p.best[p.held]
	residual := p.held == len(p.best)-1
	high, err = p.cross(cut, max(best, 1e-7*p.best[len(p.best)-1]), 2)
	if err != nil {
		return 0, 0, err
	}
	if best == 0 {
		return 0, high, nil
	}
	if !residual {
		at, err := p.deviance(0, p.best)
		if err != nil {
			return 0, 0, err
		}
		if at.value <= cut {
			return 0, high, nil
		}
	}
	low, err = p.cross(cut, best, 0.5)
	return low, high, err
}

// cross returns the value beyond from, in the direction of factor, at which the
// deviance crosses cut: first by steps of the factor, then by bisection and
// Newton's method on √deviance by the logarithm of the value.
func (p *profile) cross(cut, from, factor float64) (float64, error) {
	unbounded := 1e10 * floats.Sum(p.best)
	at := &heldPoint{components: p.best}
	inside, v := from, from
	for {
		v *= factor
		next, err := p.nearby(v, at)
		if err != nil && v < 1e-7*from {
			return 0, nil // too far down to compute, and still within
		} else if err != nil {
			return 0, err
		}
		if at = next; at.value > cut {
			break
		}
		if inside = v; v > unbounded {
			return math.Inf(1), nil
		}
		if v < 1e-20*from {
			return 0, nil
		}
	}
	outside := v
	for range 100 {
		// d √dev / d log v = slope v / (2 √dev)
		root := math.Sqrt(max(at.value, 0))
		next := v * math.Exp((math.Sqrt(cut)-root)*2*root/(at.slope*v))
		if lo, hi := min(inside, outside), max(inside, outside); !(next > lo && next < hi) {
			next = math.Sqrt(lo * hi)
		}
		done := math.Abs(next-v) <= 1e-10*v
		v = next
		if done {
			return v, nil
		}
		var err error
		if at, err = p.nearby(v, at); err != nil {
			return 0, err
		}
		if at.value > cut {
			outside = v
		} else {
			inside = v
		}
	}
	return 0, ErrNotConverged
}

// nearby minimises the deviance from the components of another point or, where
// that lies in a desert, from the best or from equal ones.
func (p *profile) nearby(v float64, from *heldPoint) (*heldPoint, error) {
	at, err := p.deviance(v, from.components)
	if err != nil {
		at, err = p.deviance(v, p.best)
	}
	if err != nil {
		at, err = p.deviance(v, slices.Repeat([]float64{v}, len(p.best)))
	}
	return at, err
}

// heldPoint is the minimum of the deviance with one component held.
type heldPoint struct {
	components []float64
	value      float64 // above the minimum over all components
	slope      float64 // by the held component
}

// extreme is the ratio nγ from which the held component costs digits unless its factor is the one
// eliminated. Eliminating another than that with most levels costs time.
const extreme = 1e3

// momentsAt returns the moments to compute with where the held component has the value v beside a
// residual.
func (p *profile) momentsAt(v, residual float64) *moments {
	if p.held == len(p.best)-1 || v*float64(p.m.n)/float64(p.m.levels[p.held]) < extreme*residual {
		return p.m
	}
	return p.eliminated()
}

// eliminated returns the moments with the held factor eliminated, if it can be.
func (p *profile) eliminated() *moments {
	if p.own == nil {
		p.own = p.m
		if p.held < len(p.r.random) && p.held != p.m.first {
			if m, err := newMoments(p.r.touched, p.r.Rank, p.r.scaled, p.r.random, p.held); err == nil {
				p.own = m
			}
		}
	}
	return p.own
}

// deviance minimises -2 log likelihood over the other components, from a start, by the moments
// that leave it its digits.
func (p *profile) deviance(v float64, start []float64) (*heldPoint, error) {
	last := len(start) - 1
	m := p.momentsAt(v, start[last])
	at, err := p.minimise(m, v, start)
	switch {
	case m != p.m:
	case err != nil:
		if own := p.eliminated(); own != m {
			return p.minimise(own, v, start)
		}
	default:
		if own := p.momentsAt(v, at.components[last]); own != m {
			return p.minimise(own, v, at.components)
		}
	}
	return at, err
}

// minimise minimises -2 log likelihood over the other components, from a start,
// by Newton's method in
//
//	φi = log(1 + ni σi²/σ²) for the random factors, log σ²/low for the residual,
//
// all ≥ 0, with the held component as it is. It returns the value above the minimum
// over all. Where random factors can explain every run σ² may want to vanish; it is
// then held at low, where the deviance is as good as at its limit.
func (p *profile) minimise(m *moments, v float64, start []float64) (*heldPoint, error) {
	c := newCoordinates(p, m, v, start)
	now, ok := c.evaluate(c.phi)
	for range maxSteps {
		if !ok {
			return nil, ErrNotConverged
		}
		step := boxed(c.phi, len(c.phi), now.gradient, now.hessian)
		longest, slope := 0.0, 0.0
		for i, s := range step {
			longest = max(longest, math.Abs(s))
			slope += s * now.gradient[i]
		}
		// σ² may be on its way to zero: what there is to gain decides, too.
		noise := c.m.noise(now.point)
		if longest <= settled || -slope <= 10*noise {
			return &heldPoint{now.components, now.value - p.top, now.slope}, nil
		}
		scale := min(1, longestStep/longest)
		for k := 0; ; k++ {
			next := make([]float64, len(step))
			for i := range next {
				if next[i] = c.phi[i] + scale*step[i]; scale == 1 && step[i] == -c.phi[i] {
					next[i] = 0
				}
			}
			if to, fine := c.evaluate(next); fine && to.value <= now.value+1e-4*scale*slope+noise {
				c.phi, now = next, to
				break
			}
			if scale /= 2; k < 60 {
				continue
			}
			if longest < stuck || -slope < 1e-6 {
				return &heldPoint{now.components, now.value - p.top, now.slope}, nil
			}
			return nil, ErrNotConverged
		}
	}
	return nil, ErrNotConverged
}

// desert is the part of all variance below which that of the residual is not
// followed.
const desert = 1e-9

// coordinates maps φ to components: first those of the random factors that are
// not held, in order, then, unless it is held, that of the residual.
type coordinates struct {
	p   *profile
	m   *moments
	v   float64
	n   []float64 // mean number of rows in a level of each random factor
	phi []float64
	low float64 // the least σ²
}

func newCoordinates(p *profile, m *moments, v float64, start []float64) *coordinates {
	c := &coordinates{p: p, m: m, v: v, low: desert * (floats.Sum(p.best) + v)}
	last := len(start) - 1
	residual := start[last]
	if p.held == last {
		residual = v
	}
	for i, l := range p.m.levels {
		c.n = append(c.n, float64(p.m.n)/float64(l))
		if i != p.held {
			c.phi = append(c.phi, math.Log1p(c.n[i]*start[i]/residual))
		}
	}
	if p.held != last {
		c.phi = append(c.phi, max(0, math.Log(residual/c.low)))
	}
	return c
}

// components returns the components, residual last.
func (c *coordinates) components(phi []float64) []float64 {
	last := len(c.n)
	out := make([]float64, last+1)
	out[last] = c.v
	if c.p.held != last {
		out[last] = c.low * math.Exp(phi[len(phi)-1])
	}
	k := 0
	for i := range last {
		if i == c.p.held {
			out[i] = c.v
			continue
		}
		out[i] = out[last] * math.Expm1(phi[k]) / c.n[i]
		k++
	}
	return out
}

// heldSlopes is -2 log likelihood with its derivatives by φ.
type heldSlopes struct {
	point      *point
	components []float64
	value      float64
	slope      float64 // by the held component
	gradient   []float64
	hessian    *mat.SymDense // positive definite
}

// evaluate returns the deviance, with V = Σ σi²Vi + σ²I and P that of H,
//
//	(n-p) log σ² + log|H| + log|X'H⁻¹X| + y'Py/σ²,
//
// and its derivatives. By components σi² they are
//
//	gi = (tr PVi - y'PViPy/σ²) / σ²,  hij = (2 y'PViPVjPy/σ² - tr PViPVj) / σ⁴,
//
// and the residual's direction I is (V - Σ σi²Vi)/σ², which PVP = P resolves.
func (c *coordinates) evaluate(phi []float64) (*heldSlopes, bool) {
	m := c.m
	k := len(c.n)
	s := &heldSlopes{components: c.components(phi)}
	s2 := s.components[k]
	gamma := make([]float64, k)
	for i := range gamma {
		gamma[i] = s.components[i] / s2
	}
	pt, ok := m.at(gamma)
	if !ok {
		return nil, false
	}
	d, ok := m.derivatives(pt)
	if !ok {
		return nil, false
	}
	df := float64(m.df)
	s.point = pt
	s.value = pt.value - df*math.Log(pt.yPy) + df*math.Log(s2) + pt.yPy/s2

	// In units of σ² = 1, along V1 … Vk and V: observed and expected.
	g := make([]float64, k+1)
	h, e := d.gram(m.df), d.gram(m.df)
	for i := range k {
		g[i] = d.trace[i] - d.form[i]/s2
		for j := i; j < k; j++ {
			h.SetSym(i, j, 2*d.forms.At(i, j)/s2-d.traces.At(i, j))
		}
		h.SetSym(i, k, 2*d.form[i]/s2-d.trace[i])
	}
	g[k] = df - pt.yPy/s2
	h.SetSym(k, k, 2*pt.yPy/s2-df)

	// Directions in which each φ moves (σ1² … σk², scale of V), over σ²: a random
	// factor moves its component by γi + 1/ni; log σ² moves all that are not held
	// along with it, which is V less the part that is held.
	move := mat.NewDense(len(phi), k+1, nil)
	curve := make([]float64, len(phi)) // the second derivative of the components, along the same directions
	row := 0
	for i := range k {
		if i != c.p.held {
			move.Set(row, i, gamma[i]+1/c.n[i])
			row++
		}
	}
	if row < len(phi) {
		move.Set(row, k, 1)
		move.Set(row, c.p.held, -gamma[c.p.held])
	}
	s.gradient = make([]float64, len(phi))
	var mh, me, hessian, expected mat.Dense
	if len(phi) > 0 {
		mh.Mul(move, h)
		me.Mul(move, e)
		hessian.Mul(&mh, move.T())
		expected.Mul(&me, move.T())
		for a := range phi {
			for j, v := range g {
				s.gradient[a] += move.At(a, j) * v
			}
			curve[a] = s.gradient[a]
		}
		s.hessian = symmetric(&hessian)
		if row < len(phi) { // log σ² also moves the slope of the others: d²σi²/dφi dlogσ² = dσi²/dφi
			for a := range row {
				s.hessian.SetSym(a, row, s.hessian.At(a, row)+s.gradient[a])
			}
		}
		for a := range phi {
			s.hessian.SetSym(a, a, s.hessian.At(a, a)+curve[a])
		}
		var chol mat.Cholesky
		if !chol.Factorize(s.hessian) {
			s.hessian = symmetric(&expected)
			for a := range phi {
				s.hessian.SetSym(a, a, s.hessian.At(a, a)*(1+1e-8)+1e-12)
			}
		}
	}
	// By the held component itself, in its own unit.
	if c.p.held == k {
		s.slope = g[k]
		for i := range k {
			s.slope -= gamma[i] * g[i]
		}
	} else {
		s.slope = g[c.p.held]
	}
	s.slope /= s2
	return s, true
}
