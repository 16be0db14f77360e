package resample

// plotMoments is what an order says of its strata, whatever the response.
type plotMoments struct {
	dfWithin, dfBetween float64 // of the residual

	a []float64 // B'X, a row for each treatment
	w []float64 // B'XC⁻, a column for each treatment, by rows of B
	d []float64 // B'X·d', a row for each treatment of the drawn order

	// Of each comparison: the parts of ℓ'C⁻ℓ by which noise within and between
	// whole plots enters it; what is left of its shift between whole plots, a row
	// each, and the square of that.
	within, between []float64
	left            []float64
	gamma           []float64
}

func newPlotMoments(l *layout) plotMoments {
	b, n, k := l.plots.n, l.treatments, len(l.v)
	return plotMoments{
		a: make([]float64, n*b), w: make([]float64, b*n), d: make([]float64, n*b),
		within: make([]float64, k), between: make([]float64, k), left: make([]float64, k*b), gamma: make([]float64, k),
	}
}

// strata sets what the moments of an order say of its strata. With B what lies
// between whole plots and λ its weight, the residual degrees of freedom there are
// those of B less the share λ·tr(C⁻X'BB'X) of the rank that treatments take; they
// make the mean squares those of one step of REML. The variance of ℓ'τ is
//
//	ℓ'C⁻(σ²_w·X'MX + (λ²σ²_b − λσ²_w)·X'BB'X)C⁻ℓ    where C = X'MX, weighted
func (m *moments) strata() {
	l, p := m.lay, &m.plots
	b, n := l.plots.n, l.treatments
	l.plots.columns(p.a, m.a, l.basis.cols)
	clear(p.w)
	var taken float64
	for s := range n {
		as := p.a[s*b : s*b+b]
		for t, v := range m.info.b[s*n : s*n+n] {
			for j, x := range as {
				p.w[j*n+t] += x * v
			}
		}
	}
	for t := range n {
		for j, x := range p.a[t*b : t*b+b] {
			taken += x * p.w[j*n+t]
		}
	}
	p.dfBetween = float64(b) - betweenWeight*taken
	p.dfWithin = float64(l.df-m.info.rank) - p.dfBetween
	for k := range l.v {
		var c float64
		for j := range b {
			v := l.contrasts.value(k, p.w[j*n:j*n+n])
			c += v * v
		}
		p.between[k] = betweenWeight * betweenWeight * c
		p.within[k] = l.contrasts.variance(k, m.info.b, n) - betweenWeight*c
		// What is no more than rounding.
		if p.within[k] <= 1e-12*betweenWeight*c {
			p.within[k] = 0
		}
		if p.between[k] <= 1e-12*p.within[k] {
			p.between[k] = 0
		}
	}
}

// judged reports whether the order has noise to compare comparison k with, wherever
// noise enters it.
func (p *plotMoments) judged(k int) bool {
	const much = 1e-6
	return (p.within[k] <= much*p.between[k] || p.dfWithin >= fewest) && (p.between[k] <= much*p.within[k] || p.dfBetween >= fewest)
}

// relateStrata sets what joins the strata of the order to the drawn one.
func (m *moments) relateStrata() {
	l, p := m.lay, &m.plots
	b, n := l.plots.n, l.treatments
	clear(p.d)
	for s := range n {
		ds := p.d[s*b : s*b+b]
		for t, v := range m.d[s*n : s*n+n] {
			for j, x := range p.a[t*b : t*b+b] {
				ds[j] += v * x
			}
		}
	}
	for k, v := range l.v {
		left := p.left[k*b : k*b+b]
		copy(left, l.plots.shifts[k*b:k*b+b])
		for i := l.contrasts.from[k]; i < l.contrasts.from[k+1]; i++ {
			s := int(l.contrasts.at[i])
			for j, x := range p.d[s*b : s*b+b] {
				left[j] -= v * l.contrasts.weight[i] * x
			}
		}
		p.gamma[k] = dot(left, left)
	}
}
