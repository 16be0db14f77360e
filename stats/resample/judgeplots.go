package resample

// plotJudge is what a judge keeps of a response between whole plots.
type plotJudge struct {
	rest  []float64 // of its residual, what the effects of the order leave
	alpha float64   // the square of that
	beta  []float64 // of each comparison: rest times what its shift leaves
	work  []float64
}

func newPlotJudge(l *layout) plotJudge {
	return plotJudge{rest: make([]float64, l.plots.n), beta: make([]float64, len(l.v)), work: make([]float64, l.plots.n)}
}

// byStrata counts the order that m holds, each comparison judged by the noise
// of its own stratum.
func (j *judge) byStrata() {
	t, m, b := j.test, j.m, len(j.plots.rest)
	copy(j.plots.rest, t.plots.rest)
	m.takeOut(j.plots.rest, j.p)
	j.plots.alpha = dot(j.plots.rest, j.plots.rest)
	for k := range t.lay.v {
		j.plots.beta[k] = dot(j.plots.rest, m.plots.left[k*b:k*b+b])
	}
	j.allByStrata()
	for i := range t.lay.families {
		j.comparisonsByStrata(&t.lay.families[i])
	}
}

// takeOut takes what effects do between whole plots out of u.
func (m *moments) takeOut(u, tau []float64) {
	b := len(u)
	for t, v := range tau {
		for j, x := range m.plots.a[t*b : t*b+b] {
			u[j] -= v * x
		}
	}
}

// allByStrata counts the F tests of both strata together and, no treatment doing
// anything, the largest score of each family in either stratum.
func (j *judge) allByStrata() {
	t, l := j.test, j.test.lay
	f, s := j.m.effects(j.putBack(t.tau), t.rss+t.ss, t.plots.y, j.tau, j.plots.work)
	if f >= level(t.plots.f) {
		j.overall++
	}
	for i := range l.families {
		f := &l.families[i]
		var largest [2]float64
		for k := f.from; k < f.to; k++ {
			of := &largest[l.plots.across[k]]
			*of = max(*of, j.m.score(k, j.tau, s))
		}
		for k := f.from; k < f.to; k++ {
			if largest[l.plots.across[k]] >= level(t.plots.score[k]) {
				j.complete[k]++
			}
		}
	}
}

// effects returns the F tests of both strata together and the noise in each, for a
// response with the weighted sum of squares total and y between whole plots, which
// has the effects tau, of the sum of squares ss. work is overwritten.
func (m *moments) effects(ss, total float64, y, tau, work []float64) (f float64, s strata) {
	clear(work)
	m.takeOut(work, tau)
	between := dot(work, work)
	copy(work, y)
	m.takeOut(work, tau)
	rest := dot(work, work)
	s = newStrata(total-ss, rest, &m.plots)
	rank := float64(len(y)) - s.dfBetween
	return together(
		[2]float64{ss - betweenWeight*between, between},
		[2]float64{total - ss - betweenWeight*rest, rest},
		[2]float64{float64(m.info.rank) - rank, rank},
		[2]float64{s.dfWithin, s.dfBetween}), s
}

// score returns the score of comparison k of the effects tau, zero if the drawn
// order or this one cannot estimate it.
func (m *moments) score(k int, tau []float64, s strata) float64 {
	if !m.lay.estimable(k) || m.variance[k] == infinite {
		return 0
	}
	x := m.lay.contrasts.value(k, tau)
	return s.score(x*x, m.plots.within[k]*s.within, m.plots.between[k]*s.between)
}

// comparisonsByStrata counts the score of each comparison of a family, and the
// largest of those of the family in its stratum, the comparison taken to be zero.
func (j *judge) comparisonsByStrata(f *family) {
	t, l, m := j.test, j.test.lay, j.m
	for k := f.from; k < f.to; k++ {
		if !l.estimable(k) {
			continue
		}
		x := t.theta[k]
		ss := j.alpha + x*(2*j.beta[k]+x*m.gamma[k])
		rest := j.plots.alpha + x*(2*j.plots.beta[k]+x*m.plots.gamma[k])
		s := newStrata(t.rss+x*x*l.v[k]-ss, rest, &m.plots)
		copy(j.tau, j.p)
		l.contrasts.addScaled(j.tau, x*l.v[k], k, m.d)
		bar := level(t.plots.score[k])
		if m.score(k, j.tau, s) >= bar {
			j.own[k]++
			j.adjusted[k]++
		} else if l.scoreReaches(bar, f, k, j.tau, m.variance, m.plots.within, m.plots.between, s) {
			j.adjusted[k]++
		}
	}
}

// scoreReaches reports whether the score of any comparison of a family reaches the
// bar that lies in the same strata as comparison of. variance, within and between are the order's. A score is at most t², so
// that most comparisons need no logarithm.
func (l *layout) scoreReaches(bar float64, f *family, of int, tau, variance, within, between []float64, s strata) bool {
	for k := f.from; k < f.to; k++ {
		if l.v[k] == 0 || l.plots.across[k] != l.plots.across[of] || variance[k] == infinite {
			continue
		}
		x := l.contrasts.value(k, tau)
		w, b := within[k]*s.within, between[k]*s.between
		if x*x >= bar*(w+b) && s.score(x*x, w, b) >= bar {
			return true
		}
	}
	return bar <= 0
}

// plotTest is what a test keeps of the drawn order's strata.
type plotTest struct {
	y, rest []float64 // of the response and of its residual, what lies between whole plots
	f       float64   // the F tests of both strata together
	strata
	score []float64    // of each comparison
	parts [][2]float64 // of its variance: from within and between whole plots
}

// at returns the score of comparison k were its estimate x.
func (p *plotTest) at(k int, x float64) float64 {
	return p.strata.score(x*x, p.parts[k][0], p.parts[k][1])
}

// newPlotTest judges the drawn order, with y what lies between whole plots of the
// response.
func (t *Test) newPlotTest(y []float64) *plotTest {
	l := t.lay
	m := newMoments(l)
	m.order(l.design.Drawn)
	m.strata()
	p := &plotTest{y: y, rest: make([]float64, len(y))}
	copy(p.rest, y)
	m.takeOut(p.rest, t.tau)
	// rest holds residuals times their weights, whose square has the weights twice.
	t.rss += betweenWeight * (1 - betweenWeight) * dot(p.rest, p.rest)
	p.f, p.strata = m.effects(t.ss, t.ss+t.rss, y, t.tau, p.rest)
	for k := range l.v {
		p.parts = append(p.parts, [2]float64{m.plots.within[k] * p.within, m.plots.between[k] * p.between})
		p.score = append(p.score, p.at(k, t.theta[k]))
	}
	return p
}
