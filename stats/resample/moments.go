package resample

// moments are what the tests of one layout share about an order: everything
// that does not depend on the response. They are reused from order to order.
type moments struct {
	lay       *layout
	treatment []int32   // of each used slot
	runs      []float64 // of each treatment
	a         []float64 // Q'X, a row for each treatment
	info      information
	dfRatio   float64 // residual degrees of freedom of the drawn order over those here; 0 if none are left here

	// With X₀ the drawn order and C₀ its information, each treatment × treatment:
	g  []float64 // X'MX₀
	gb []float64 // gC₀⁻
	d  []float64 // (C⁻gC₀⁻)': row s is how the effects here change with one of the drawn order's C₀⁻S
	w  []float64 // C₀⁻g'C⁻gC₀⁻
	t  []float64 // work

	// Of each comparison: ℓ'C⁻ℓ, infinite if the order cannot estimate it; and
	// the sum of squares here of its shift.
	variance []float64
	gamma    []float64

	sharpest []float64 // of each family
	families []familyMoments
	plots    plotMoments
}

// familyMoments is how an order sees a family that is not all differences.
type familyMoments struct {
	rank     int // 0 if the order cannot estimate all of it
	inverse  []float64
	effects  [][]float64
	diagonal []float64
	value    []float64
}

func newMoments(l *layout) *moments {
	n := l.treatments
	m := &moments{
		lay:       l,
		treatment: make([]int32, len(l.used)),
		runs:      make([]float64, n),
		a:         make([]float64, n*l.basis.cols),
		info:      newInformation(l.design),
		g:         make([]float64, n*n),
		gb:        make([]float64, n*n),
		d:         make([]float64, n*n),
		w:         make([]float64, n*n),
		t:         make([]float64, n*n),
		variance:  make([]float64, len(l.v)),
		gamma:     make([]float64, len(l.v)),
		sharpest:  make([]float64, len(l.families)),
	}
	if l.plots != nil {
		m.plots = newPlotMoments(l)
	}
	for _, f := range l.families {
		r := len(f.space)
		m.families = append(m.families, familyMoments{
			inverse: make([]float64, r*r), effects: rows(r, n),
			diagonal: make([]float64, r), value: make([]float64, r),
		})
	}
	return m
}

// rows returns n vectors.
func rows(n, length int) [][]float64 {
	all := make([]float64, n*length)
	r := make([][]float64, n)
	for i := range r {
		r[i] = all[i*length : (i+1)*length : (i+1)*length]
	}
	return r
}

// order takes in an order, given as the treatment of every slot: it sets
// treatment, runs, a and info.
func (m *moments) order(order []int32) {
	l, n := m.lay, m.lay.treatments
	clear(m.runs)
	clear(m.a)
	cols := l.basis.cols
	from := l.basis.from
	for i, slot := range l.used {
		t := order[slot]
		if uint32(t) >= uint32(n) {
			panic(panicCode)
		}
		m.treatment[i] = t
		m.runs[t]++
		a := m.a[int(t)*cols : int(t)*cols+cols]
		for h := from[i]; h < from[i+1]; h++ {
			a[l.basis.at[h]] += l.basis.value[h]
		}
	}
	for s := range n {
		as := m.a[s*cols : s*cols+cols]
		for t := range s + 1 {
			v := -dot(as, m.a[t*cols:t*cols+cols])
			if s == t {
				v += m.runs[s]
			}
			m.info.c[s*n+t], m.info.c[t*n+s] = v, v
		}
	}
	m.info.invert(m.runs)
}

// relate sets what joins the order to the drawn one: everything else.
func (m *moments) relate() {
	l, n := m.lay, m.lay.treatments
	m.dfRatio = 0
	if df := l.df - m.info.rank; df > 0 {
		m.dfRatio = float64(l.residual()) / float64(df)
	}
	clear(m.g)
	for i, t := range m.treatment {
		m.g[int(t)*n+int(l.drawn[i])]++
	}
	cols := l.basis.cols
	for s := range n {
		as := m.a[s*cols : s*cols+cols]
		for t := range n {
			m.g[s*n+t] -= dot(as, l.a[t*cols:t*cols+cols])
		}
	}
	product(m.gb, m.g, l.info.b, n)
	product(m.t, m.info.b, m.gb, n)
	for s := range n {
		for t := range n {
			m.d[t*n+s] = m.t[s*n+t]
		}
	}
	product(m.w, m.d, m.gb, n)
	for k, v := range l.v {
		m.variance[k] = m.varianceOf(k)
		m.gamma[k] = v * v * l.contrasts.variance(k, m.w, n)
	}
	if l.plots != nil {
		m.strata()
		m.relateStrata()
		return
	}
	for i, f := range l.families {
		m.sharpest[i] = l.contrasts.sharpest(f.from, f.to, m.variance)
		m.family(i)
	}
}

// product sets dst to a·b, square matrices of n rows.
func product(dst, a, b []float64, n int) {
	clear(dst)
	for i := range n {
		out := dst[i*n : i*n+n]
		for h, v := range a[i*n : i*n+n] {
			for j, w := range b[h*n : h*n+n] {
				out[j] += v * w
			}
		}
	}
}

// varianceOf returns ℓ'C⁻ℓ of comparison j, infinite if it cannot be estimated.
func (m *moments) varianceOf(j int) float64 {
	l := m.lay
	if !m.info.full() && !m.info.estimable(l.weights[j]) {
		return infinite
	}
	return l.contrasts.variance(j, m.info.b, l.treatments)
}

// family sets how the order sees family i, unless that is all differences.
func (m *moments) family(i int) {
	f, s := &m.lay.families[i], &m.families[i]
	if f.whole {
		return
	}
	s.rank = 0
	for j := f.from; j < f.to; j++ {
		if m.lay.estimable(j) && m.variance[j] == infinite {
			return
		}
	}
	s.rank = m.info.within(f.space, s.effects, s.inverse, s.diagonal)
}
