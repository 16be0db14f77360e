package order

import "math"

// general is the criterion of any plan: incomplete blocks, baseline runs at fixed places, models
// with fewer comparisons than all those between treatments, and whole plots in blocks that are not
// alike (see plotinformation.go for what information is then).
//
// With G the information on the comparisons with blocks alone and Z the matrix of drift terms as
// complete has it, in the coordinates of the comparisons and scaled to unit drift terms, the loss is
//
//	loss = tr (G − Z Zᵀ)⁻¹ / tr G⁻¹ − 1
//	     = tr (I − ZᵀG⁻¹Z)⁻¹ Zᵀ G⁻² Z / tr G⁻¹,
//
// of which the first is computed where drift terms outnumber comparisons and otherwise the second.
type general struct {
	treatments, runs int
	degree, terms    int
	baseline         int
	plots            []int     // setting of each treatment where whole plots are in the model, otherwise nil
	products         []float64 // degree×degree sums of products of the scores, where plots is not nil
	scores           []int64   // degree×runs, at the places of runs that are drawn
	fixed            []int64   // for each degree, the sum of scores at the places of reference runs
	scale            []float64 // 1/|term|, one for each degree

	side      int       // coordinates: T, or the columns of basis
	basis     []float64 // T×side, orthonormal; nil: the treatments themselves
	info      []float64 // G, and where basis is nil g·J/T added to make it regular
	inverse   []float64 // of info
	extra     float64   // what g·J/T adds to the trace of the inverse
	trace     float64   // tr G⁻¹
	reference float64   // mean of the diagonal of G: what counts as information
	rough     bool
}

// roughWork is the number of multiplications for a loss above which candidates are judged by its
// first term, with all comparisons taken to have the average information.
const roughWork = 1_000_000

// newGeneral returns the criterion for the plan's blocks given flat, each of them with the fixed
// runs of the plan. It returns nil if some comparison cannot be estimated even without drift.
func newGeneral(p Spec, flat []int32) *general {
	return generalOf(p, flat, p.kind() == kindSplit)
}

// generalOf is newGeneral with whole plots in the model, or not.
func generalOf(p Spec, flat []int32, plots bool) *general {
	n := p.runsPerBlock()
	blocks := len(flat) / n
	g := &general{treatments: p.Treatments, runs: n, degree: p.Drift.degree(), baseline: p.Baseline}
	g.terms = g.degree * blocks
	length := 1
	if p.Shared {
		g.terms, length = g.degree, blocks
	}
	drawn, fixed := p.slots()
	for _, row := range scores(n+len(fixed), g.degree, 1<<40) {
		for _, at := range drawn {
			g.scores = append(g.scores, row[at-p.Warmup])
		}
		var sum int64
		for _, at := range fixed {
			sum += row[at-p.Warmup]
		}
		g.fixed = append(g.fixed, sum)
		g.scale = append(g.scale, 1/math.Sqrt(float64(length)*sumOfSquares(row)))
	}
	g.basis, g.side = p.basis()
	var c []float64
	if plots {
		g.plots = p.WholePlots
		g.products = make([]float64, g.degree*g.degree)
		for k := range g.degree {
			for l := range k + 1 {
				for i := range n {
					g.products[k*g.degree+l] += float64(g.scores[k*n+i] * g.scores[l*n+i])
				}
			}
		}
		c = informationInPlots(p.Treatments, p.WholePlots, split(flat, n))
	} else {
		c, _ = informationInBlocks(p.Treatments, p.analysed(flat))
	}
	g.info = inBasis(c, p.Treatments, g.basis, g.side)
	g.reference = meanInformation(g.info, g.side)
	if g.basis == nil {
		g.extra = 1 / g.reference
		addConstant(g.info, g.side, g.reference)
	}
	g.inverse = inverse(append([]float64(nil), g.info...), g.side, g.reference)
	if g.inverse == nil {
		return nil
	}
	for i := range g.side {
		g.trace += g.inverse[i*g.side+i]
	}
	g.trace -= g.extra
	return g
}

// addConstant adds g·J/T to the information matrix c on T treatments, which has the constant vector in its
// kernel; comparisons stay as they are.
func addConstant(c []float64, treatments int, g float64) {
	for i := range c {
		c[i] += g / float64(treatments)
	}
}

// inBasis returns basisᵀ·c·basis.
func inBasis(c []float64, treatments int, basis []float64, side int) []float64 {
	if basis == nil {
		return append([]float64(nil), c...)
	}
	half := make([]float64, treatments*side)
	for i := range treatments {
		for j := range side {
			var v float64
			for k := range treatments {
				v += float64(c[i*treatments+k] * basis[k*side+j])
			}
			half[i*side+j] = v
		}
	}
	out := make([]float64, side*side)
	for i := range side {
		for j := range side {
			var v float64
			for k := range treatments {
				v += float64(basis[k*side+i] * half[k*side+j])
			}
			out[i*side+j] = v
		}
	}
	return out
}

func (g *general) comparisons() int {
	if g.basis == nil {
		return g.treatments - 1
	}
	return g.side
}

func (g *general) scratch() *scratch {
	k := g.side * g.side
	return &scratch{
		sums:    make([]int64, g.terms*g.treatments),
		columns: make([]float64, 2*g.terms*g.side),
		square:  make([]float64, k),
		product: make([]float64, k),
		raw:     make([]float64, g.terms*g.treatments),
		gram:    make([]float64, g.terms*g.degree),
	}
}

func (g *general) within(flat []int32, l limit, w *scratch) bool {
	return g.terms == 0 || g.loss(flat, w) <= l.loss
}

func (g *general) loss(flat []int32, w *scratch) float64 {
	if g.terms == 0 {
		return 0
	}
	g.fillColumns(flat, w)
	switch {
	case g.rough:
		return dot(w.columns[:g.terms*g.side], w.columns[:g.terms*g.side]) / (g.reference * float64(g.comparisons()))
	case g.terms >= g.side:
		return g.byComparisons(w)
	}
	return g.byTerms(w)
}

// candidate returns the criterion for candidates: g itself, or where that costs too much an approximation.
func (g *general) candidate() *general {
	k, m := g.side, g.terms
	work := m*k*k + m*m*k + m*m*m
	if m >= k {
		work = m*k*k + k*k*k
	}
	c := *g
	c.rough = work > roughWork
	return &c
}

// fillColumns fills w.columns with Z, one row a drift term.
func (g *general) fillColumns(flat []int32, w *scratch) {
	if g.plots != nil {
		g.fillPlotColumns(flat, w)
		return
	}
	clear(w.sums)
	n, t := g.runs, g.treatments
	sums := w.sums
	own := g.terms > g.degree
	for block := range len(flat) / n {
		for k := range g.degree {
			score := g.scores[k*n : (k+1)*n]
			column := sums[k*t : (k+1)*t]
			for i, v := range flat[block*n : (block+1)*n] {
				column[v] += score[i]
			}
			column[g.baseline] += g.fixed[k]
		}
		if own {
			sums = sums[g.degree*t:]
		}
	}
	for a := range g.terms {
		s := w.sums[a*t : (a+1)*t]
		z := w.columns[a*g.side : (a+1)*g.side]
		f := g.scale[a%g.degree]
		if g.basis == nil {
			for i, v := range s {
				z[i] = float64(float64(v) * f)
			}
			continue
		}
		clear(z)
		for i, v := range s {
			if v == 0 {
				continue
			}
			u := float64(float64(v) * f)
			for j, h := range g.basis[i*g.side : (i+1)*g.side] {
				z[j] += float64(u * h)
			}
		}
	}
}

func (g *general) byComparisons(w *scratch) float64 {
	k := g.side
	m := w.square[:k*k]
	copy(m, g.info)
	for a := range g.terms {
		z := w.columns[a*k : (a+1)*k]
		for i, u := range z {
			if u == 0 {
				continue
			}
			row := m[i*k : i*k+i+1]
			for j := range row {
				row[j] -= float64(u * z[j])
			}
		}
	}
	return max(0, (traceInverse(m, k, g.reference)-g.extra)/g.trace-1)
}

func (g *general) byTerms(w *scratch) float64 {
	k, m := g.side, g.terms
	z, y := w.columns[:m*k], w.columns[m*k:]
	for a := range m {
		for i := range k {
			y[a*k+i] = dot(g.inverse[i*k:(i+1)*k], z[a*k:(a+1)*k])
		}
	}
	left, right := w.square[:m*m], w.product[:m*m]
	for a := range m {
		for b := range a + 1 {
			left[a*m+b] = -dot(z[a*k:(a+1)*k], y[b*k:(b+1)*k])
			u := dot(y[a*k:(a+1)*k], y[b*k:(b+1)*k])
			right[a*m+b], right[b*m+a] = u, u
		}
		left[a*m+a]++
	}
	// tr (L·Lᵀ)⁻¹·right.
	if !cholesky(left, m, 1) {
		return math.Inf(1)
	}
	invertLower(left, m)
	var sum float64
	for a := range m {
		for b := range a + 1 {
			for c := range a + 1 {
				sum += float64(float64(left[a*m+b]*right[b*m+c]) * left[a*m+c])
			}
		}
	}
	return max(0, sum) / g.trace
}
