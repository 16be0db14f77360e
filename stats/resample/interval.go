package resample

import "math"

// The search for the end of an interval begins at beginning standard errors from
// the estimate, strides out or in by a factor that grows, and halves down to
// precision of the distance. Distances over farthest, in units of the residual
// length over the square root of the information, are infinite.
const (
	beginning = 2.5
	stride    = 1.25
	precision = 1e-12
	farthest  = 1e4
)

// search finds the ends of intervals of one test. It belongs to one worker.
type search struct {
	test    *Test
	records []record // by chunk
	orders  int
	need    int // orders that must be as extreme for δ not to be rejected

	// Of the comparison in hand.
	family  int
	k       int
	shifted []float64 // effects of its shift in every order
	active  []int32   // orders whose crossing is still sought
	tau     []float64
}

func newSearch(t *Test, records []record) *search {
	s := &search{test: t, records: records, tau: make([]float64, t.lay.treatments)}
	for _, r := range records {
		s.orders += r.n
	}
	s.shifted = make([]float64, s.orders*t.lay.treatments)
	s.active = make([]int32, s.orders)
	return s
}

// take prepares comparison k of family f.
func (s *search) take(family, k int) {
	n := s.test.lay.treatments
	s.family, s.k = family, k
	clear(s.shifted)
	at := 0
	for _, r := range s.records {
		for i := range r.n {
			s.test.lay.contrasts.addScaled(s.shifted[at:at+n], s.test.lay.v[k], k, r.shared.d[i*n*n:(i+1)*n*n])
			at += n
		}
	}
}

// end returns the largest x, in the direction of sign, for which the value
// estimate − sign·x is not rejected: how far the interval reaches.
//
// Of each order it is asked whether its largest |t| reaches the drawn order's.
// At x = 0, where the latter is zero, every order does; far out hardly any. Each
// is taken to cross once: one that does not reach at some x is not asked again
// further out, nor one that does nearer in, and so most questions are put once.
func (s *search) end(sign float64) float64 {
	t, l := s.test, s.test.lay
	if s.need <= 0 {
		return infinite
	}
	unit := math.Sqrt(t.rss / l.v[s.k])
	far := farthest * unit
	for i := range s.active {
		s.active[i] = int32(i)
	}
	active, beyond := s.active, 0
	low, high, factor := 0.0, infinite, stride
	x := min(beginning*unit/math.Sqrt(float64(l.residual())), far)
	for {
		reach := s.split(active, sign*x)
		if beyond+reach >= s.need {
			low, active = x, active[:reach]
			if x == far {
				return infinite
			}
		} else {
			high, active = x, active[reach:]
			beyond += reach
		}
		switch {
		case high == infinite:
			x = min(x*factor, far)
			factor *= factor
		case high-low <= precision*high:
			return low + (high-low)/2
		case low == 0:
			x /= factor
			factor *= factor
			if x < precision*unit {
				return 0
			}
		default:
			x = low + (high-low)/2
		}
	}
}

// split moves the orders that reach at x to the front and returns their number.
func (s *search) split(active []int32, x float64) int {
	reach := 0
	for i, order := range active {
		if s.reaches(int(order), x) {
			active[i], active[reach] = active[reach], order
			reach++
		}
	}
	return reach
}

// reaches reports whether the largest |t| of the family in an order is as large
// as that of the comparison in the drawn order, if its true value lies x below
// the estimate.
func (s *search) reaches(order int, x float64) bool {
	t, l := s.test, s.test.lay
	r, i := &s.records[order/chunk], order%chunk
	m := len(l.v)
	z := x * x * l.v[s.k]
	ss := r.own.alpha[i] + x*(2*r.own.beta[i*m+s.k]+x*r.shared.gamma[i*m+s.k])
	if l.plots != nil {
		return s.reachesByStrata(order, x, t.rss+z-ss)
	}
	b := newBar(t.rss+z, ss, r.shared.dfRatio[i]/t.rss).at(z)
	if !mayReach(b, ss) {
		return false
	}
	s.shift(order, x)
	f := &l.families[s.family]
	variance := r.shared.variance[i*m : (i+1)*m]
	return l.contrasts.anyReaches(b, f.from, f.to, s.tau, variance, r.shared.sharpest[i*len(l.families)+s.family])
}

// shift sets tau to the effects of an order if the true value lies x below the
// estimate.
func (s *search) shift(order int, x float64) {
	n := s.test.lay.treatments
	p, shifted := s.records[order/chunk].own.p[order%chunk*n:], s.shifted[order*n:(order+1)*n]
	for h := range s.tau {
		s.tau[h] = p[h] + x*shifted[h]
	}
}

// reachesByStrata is reaches with whole plots; rss is the weighted residual sum of
// squares of the order.
func (s *search) reachesByStrata(order int, x, rss float64) bool {
	t, l := s.test, s.test.lay
	r, i := &s.records[order/chunk], order%chunk
	m := len(l.v)
	rest := r.own.alphaPlots[i] + x*(2*r.own.betaPlots[i*m+s.k]+x*r.shared.gammaPlots[i*m+s.k])
	v := newStrata(rss, rest, &plotMoments{dfWithin: r.shared.dfs[2*i], dfBetween: r.shared.dfs[2*i+1]})
	s.shift(order, x)
	own := slice(r.shared.variance, i, m)
	return l.scoreReaches(level(t.plots.at(s.k, x)), &l.families[s.family], s.k, s.tau, own, slice(r.shared.within, i, m), slice(r.shared.between, i, m), v)
}

// slice returns the i-th m of a list.
func slice(all []float64, i, m int) []float64 { return all[i*m : (i+1)*m] }

// interval returns the ends of the interval of comparison k, of the given family;
// need is the number of orders that must be as extreme for δ not to be rejected.
func (s *search) interval(family, k, need int) (low, high float64) {
	t := s.test
	s.need = need
	s.take(family, k)
	return t.scale * (t.theta[k] - s.end(1)), t.scale * (t.theta[k] + s.end(-1))
}
