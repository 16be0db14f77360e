package resample

import "math"

var infinite = math.Inf(1)

// tie is the part of the sum of squares of a response by which two statistics
// may differ and still count as equal. Orders that are alike give equal
// statistics but for rounding, which is a hundred times smaller.
const tie = 1e-12

// tally counts the orders whose statistics are as large as the drawn order's.
type tally struct {
	orders   int
	overall  int
	families []int // constrained F of each family
	own      []int // of each comparison: |t|
	adjusted []int // of each comparison: largest |t| of its family
	complete []int // likewise, no treatment doing anything
}

func newTally(l *layout) tally {
	n := len(l.v)
	return tally{
		families: make([]int, len(l.families)),
		own:      make([]int, n), adjusted: make([]int, n), complete: make([]int, n),
	}
}

func (c *tally) add(d *tally) {
	c.orders += d.orders
	c.overall += d.overall
	for i, n := range d.families {
		c.families[i] += n
	}
	for i := range d.own {
		c.own[i] += d.own[i]
		c.adjusted[i] += d.adjusted[i]
		c.complete[i] += d.complete[i]
	}
}

// judge is a response in the hands of one worker.
type judge struct {
	test *Test
	m    *moments
	tally

	s     []float64 // X'rest
	p     []float64 // C⁻s: effects, none put back
	alpha float64   // s'C⁻s: their sum of squares
	c     []float64 // C₀⁻g'C⁻s
	beta  []float64 // of each comparison: p'g·shift
	moved []float64 // X'e for an e with effects put back
	tau   []float64 // C⁻moved
	scale float64   // of bars
	plots plotJudge
}

func newJudge(t *Test, m *moments) *judge {
	n := t.lay.treatments
	j := &judge{
		test: t, m: m, tally: newTally(t.lay),
		s: make([]float64, n), p: make([]float64, n), c: make([]float64, n), beta: make([]float64, len(t.lay.v)),
		moved: make([]float64, n), tau: make([]float64, n),
	}
	if t.lay.plots != nil {
		j.plots = newPlotJudge(t.lay)
	}
	return j
}

// order counts the order that m holds.
func (j *judge) order() {
	t, m := j.test, j.m
	clear(j.s)
	for i, k := range m.treatment {
		j.s[k] += t.rest[i]
	}
	multiply(j.p, m.info.b, j.s)
	j.alpha = dot(j.s, j.p)
	multiply(j.c, m.d, j.s)
	for k, v := range t.lay.v {
		j.beta[k] = v * t.lay.contrasts.value(k, j.c)
	}
	j.scale = m.dfRatio / t.rss
	j.orders++
	if t.lay.plots != nil {
		j.byStrata()
		return
	}
	j.all()
	for i := range t.lay.families {
		j.family(i)
		j.comparisons(i)
	}
}

// putBack sets moved and tau for the residual with the given effects of the
// drawn order put back, and returns the sum of squares of the treatments.
func (j *judge) putBack(effects []float64) (ss float64) {
	multiply(j.moved, j.m.g, effects)
	for i, v := range j.s {
		j.moved[i] += v
	}
	multiply(j.tau, j.m.info.b, j.moved)
	return dot(j.moved, j.tau)
}

// all counts the F of all treatments and, no treatment doing anything, the
// largest |t| of each family.
func (j *judge) all() {
	t, l, m := j.test, j.test.lay, j.m
	total := t.rss + t.ss
	ss := j.putBack(t.tau)
	b := newBar(total, ss, j.scale)
	if m.info.rank > 0 && ss/float64(m.info.rank) >= b.at(t.ss/float64(l.info.rank)) {
		j.overall++
	}
	for _, f := range l.families {
		largest := l.contrasts.largest(f.from, f.to, j.tau, m.variance)
		for k := f.from; k < f.to; k++ {
			if largest >= b.at(t.theta[k]*t.theta[k]*l.v[k]) {
				j.complete[k]++
			}
		}
	}
}

// family counts the F of family i, its comparisons taken to be zero.
func (j *judge) family(i int) {
	t, l, m := j.test, j.test.lay, j.m
	f, s := &l.families[i], &m.families[i]
	if f.whole || s.rank == 0 {
		return
	}
	ss := j.putBack(t.zero[i])
	n := len(f.space)
	for h, q := range f.space {
		s.value[h] = dot(q, j.tau)
	}
	var own float64
	for h := range n {
		own += s.value[h] * dot(s.inverse[h*n:h*n+n], s.value)
	}
	b := newBar(t.rss+t.famSS[i], ss, j.scale)
	if own/float64(s.rank) >= b.at(t.famSS[i]/float64(n)) {
		j.families[i]++
	}
}

// comparisons counts |t| of each comparison of family i, and the largest of the
// family, the comparison taken to be zero.
func (j *judge) comparisons(i int) {
	t, l, m := j.test, j.test.lay, j.m
	f := &l.families[i]
	for k := f.from; k < f.to; k++ {
		x := t.theta[k]
		z := x * x * l.v[k]
		ss := j.alpha + x*(2*j.beta[k]+x*m.gamma[k])
		bar := newBar(t.rss+z, ss, j.scale).at(z)
		if !mayReach(bar, ss) {
			continue
		}
		copy(j.tau, j.p)
		l.contrasts.addScaled(j.tau, x*l.v[k], k, m.d)
		own := l.contrasts.value(k, j.tau)
		if own*own >= bar*m.variance[k] {
			j.own[k]++
			j.adjusted[k]++
		} else if l.contrasts.anyReaches(bar, f.from, f.to, j.tau, m.variance, m.sharpest[i]) {
			j.adjusted[k]++
		}
	}
}

// bar is the sum of squares on one degree of freedom that an order has to reach
// for its t² or F to be as large as the drawn order's, up to ties:
//
//	z/(rss/df) ≥ z₀/(rss₀/df₀)  ⇔  z ≥ z₀·(rss/df)/(rss₀/df₀)
//
// where 0 marks the drawn order, and both share the total sum of squares.
type bar struct {
	ratio float64 // of the residual mean squares
	slack float64
}

// newBar returns the bar for an order with the given total sum of squares and
// sum of squares of treatments. scale is (df₀/df)/rss₀, zero if the order fits
// everything: then its F is infinite, and everything reaches.
func newBar(total, ss, scale float64) bar {
	return bar{ratio: (total - ss) * scale, slack: tie * total * total * scale}
}

func (b bar) at(z0 float64) float64 { return z0*b.ratio - b.slack }

// mayReach reports whether any comparison of an order might reach the bar: none has
// a larger sum of squares than all treatments together (Scheffé 1953, Biometrika
// 40, 87–104). Most orders need no closer look.
func mayReach(bar, ss float64) bool { return ss*(1+tie) >= bar }
