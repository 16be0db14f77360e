package resample

// chunk is the number of orders that are drawn from one stream and judged by one
// worker.
const chunk = 256

// maxStored bounds the numbers kept for intervals: 256 MB.
const maxStored = 1 << 25

// record keeps what intervals need of the orders of a chunk.
type record struct {
	n      int
	shared *shared
	own    own
}

// shared is the part of a record that does not depend on the response.
type shared struct {
	dfRatio  []float64
	d        []float64 // treatments × treatments an order
	variance []float64 // of each comparison
	gamma    []float64
	sharpest []float64 // of each family

	// With whole plots, of their moments.
	dfs             []float64 // within and between
	within, between []float64
	gammaPlots      []float64
}

// own is the part that does.
type own struct {
	p     []float64
	alpha []float64
	beta  []float64

	alphaPlots, betaPlots []float64 // likewise between whole plots
}

// stored is the number of numbers that a layout keeps of an order, and each of
// its responses.
func (l *layout) stored() (shared, own int) {
	if l.design.Alpha == 0 {
		return 0, 0
	}
	n, m := l.treatments, len(l.v)
	shared, own = 1+n*n+2*m+len(l.families), 1+n+m
	if l.plots != nil {
		shared, own = shared+2+3*m, own+1+m
	}
	return shared, own
}

func newShared(l *layout) *shared {
	n, m := l.treatments, len(l.v)
	return &shared{
		dfRatio:  make([]float64, 0, chunk),
		d:        make([]float64, 0, chunk*n*n),
		variance: make([]float64, 0, chunk*m),
		gamma:    make([]float64, 0, chunk*m),
		sharpest: make([]float64, 0, chunk*len(l.families)),
	}
}

func (s *shared) keep(m *moments) {
	s.dfRatio = append(s.dfRatio, m.dfRatio)
	s.d = append(s.d, m.d...)
	s.variance = append(s.variance, m.variance...)
	s.gamma = append(s.gamma, m.gamma...)
	s.sharpest = append(s.sharpest, m.sharpest...)
	if m.lay.plots != nil {
		s.dfs = append(s.dfs, m.plots.dfWithin, m.plots.dfBetween)
		s.within = append(s.within, m.plots.within...)
		s.between = append(s.between, m.plots.between...)
		s.gammaPlots = append(s.gammaPlots, m.plots.gamma...)
	}
}

func newOwn(l *layout) own {
	n, m := l.treatments, len(l.v)
	return own{
		p:     make([]float64, 0, chunk*n),
		alpha: make([]float64, 0, chunk),
		beta:  make([]float64, 0, chunk*m),
	}
}

func (o *own) keep(j *judge) {
	o.p = append(o.p, j.p...)
	o.alpha = append(o.alpha, j.alpha)
	o.beta = append(o.beta, j.beta...)
	if j.m.lay.plots != nil {
		o.alphaPlots = append(o.alphaPlots, j.plots.alpha)
		o.betaPlots = append(o.betaPlots, j.plots.beta...)
	}
}
