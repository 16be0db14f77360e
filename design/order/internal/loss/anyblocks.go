package loss

import (
	"math"

	"fairrun/design/internal/dense"
	"fairrun/design/internal/information"
)

// AnyBlocks is the criterion of blocks of any kind: incomplete blocks, baseline runs at fixed places, models
// with fewer comparisons than all those between treatments, and whole plots in blocks that are not
// alike (information.InPlots says what information is then).
//
// With G the information on the comparisons with blocks alone and Z the matrix of drift terms as
// CompleteBlocks has it, in the coordinates of the comparisons and scaled to unit drift terms, the loss is
//
//	loss = tr (G − Z Zᵀ)⁻¹ / tr G⁻¹ − 1
//	     = tr (I − ZᵀG⁻¹Z)⁻¹ Zᵀ G⁻² Z / tr G⁻¹,
//
// of which the first is computed where drift terms outnumber comparisons and otherwise the second.
type AnyBlocks struct {
	treatments, runs int
	degree, terms    int
	own              bool // each block has drift terms of its own
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

// Model says what is fitted to the runs of blocks of one length.
type Model struct {
	Treatments int
	Runs       int         // drawn runs of a block
	Degree     int         // drift terms: 0 none, 1 linear, 2 quadratic, CurveDegree a curve
	Own        bool        // each block has drift terms of its own
	Effects    [][]float64 // of each treatment; nil: a mean for each treatment
	Plots      []int       // setting of each treatment, where whole plots are fitted; nil: they are not

	Drawn     []int // positions of the drawn runs, from 0
	Reference []int // positions of the runs of Baseline at fixed places
	Baseline  int   // a treatment
}

// NewAnyBlocks returns the criterion for blocks given flat, each of them with the reference runs of
// the model. It returns nil if some comparison cannot be estimated even without drift.
func NewAnyBlocks(m Model, flat []int32) *AnyBlocks {
	n := m.Runs
	blocks := len(flat) / n
	g := &AnyBlocks{treatments: m.Treatments, runs: n, degree: m.Degree, own: m.Own, baseline: m.Baseline}
	g.terms = g.degree * blocks
	length := 1
	if !m.Own {
		g.terms, length = g.degree, blocks
	}
	for _, row := range scores(n+len(m.Reference), g.degree, 1<<40) {
		for _, at := range m.Drawn {
			g.scores = append(g.scores, row[at])
		}
		var sum int64
		for _, at := range m.Reference {
			sum += row[at]
		}
		g.fixed = append(g.fixed, sum)
		g.scale = append(g.scale, 1/math.Sqrt(float64(length)*sumOfSquares(row)))
	}
	g.basis, g.side = information.Basis(m.Treatments, m.Effects)
	var c []float64
	if m.Plots != nil {
		g.plots = m.Plots
		g.products = make([]float64, g.degree*g.degree)
		for k := range g.degree {
			for l := range k + 1 {
				for i := range n {
					g.products[k*g.degree+l] += float64(g.scores[k*n+i] * g.scores[l*n+i])
				}
			}
		}
		c = information.InPlots(m.Treatments, m.Plots, m.analysed(flat))
	} else {
		c, _ = information.InBlocks(m.Treatments, m.analysed(flat))
	}
	g.info = information.InBasis(c, m.Treatments, g.basis, g.side)
	g.reference = information.Mean(g.info, g.side)
	if g.basis == nil {
		g.extra = 1 / g.reference
		information.AddConstant(g.info, g.side, g.reference)
	}
	g.inverse = dense.Inverse(append([]float64(nil), g.info...), g.side, g.reference)
	if g.inverse == nil {
		return nil
	}
	for i := range g.side {
		g.trace += g.inverse[i*g.side+i]
	}
	g.trace -= g.extra
	return g
}

// analysed returns the treatments of flat by block, followed by the reference runs of the block.
func (m Model) analysed(flat []int32) [][]int {
	blocks := make([][]int, len(flat)/m.Runs)
	for b := range blocks {
		for _, t := range flat[b*m.Runs : (b+1)*m.Runs] {
			blocks[b] = append(blocks[b], int(t))
		}
		for range m.Reference {
			blocks[b] = append(blocks[b], m.Baseline)
		}
	}
	return blocks
}

func (g *AnyBlocks) Comparisons() int {
	if g.basis == nil {
		return g.treatments - 1
	}
	return g.side
}

func (g *AnyBlocks) Scratch() *Scratch {
	k := g.side * g.side
	return &Scratch{
		sums:    make([]int64, g.terms*g.treatments),
		columns: make([]float64, 2*g.terms*g.side),
		square:  make([]float64, k),
		product: make([]float64, k),
		raw:     make([]float64, g.terms*g.treatments),
		gram:    make([]float64, g.terms*g.degree),
	}
}

func (g *AnyBlocks) Within(flat []int32, l Limit, w *Scratch) bool {
	return g.terms == 0 || g.Loss(flat, w) <= l.Loss
}

func (g *AnyBlocks) Loss(flat []int32, w *Scratch) float64 {
	if g.terms == 0 {
		return 0
	}
	g.fillColumns(flat, w)
	switch {
	case g.rough:
		return dense.Dot(w.columns[:g.terms*g.side], w.columns[:g.terms*g.side]) / (g.reference * float64(g.Comparisons()))
	case g.terms >= g.side:
		return g.byComparisons(w)
	}
	return g.byTerms(w)
}

// Candidate returns the criterion for candidates: g itself, or where that costs too much an approximation.
func (g *AnyBlocks) Candidate() *AnyBlocks {
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
func (g *AnyBlocks) fillColumns(flat []int32, w *Scratch) {
	if g.plots != nil {
		g.fillPlotColumns(flat, w)
		return
	}
	clear(w.sums)
	n, t := g.runs, g.treatments
	sums := w.sums
	for block := range len(flat) / n {
		for k := range g.degree {
			score := g.scores[k*n : (k+1)*n]
			column := sums[k*t : (k+1)*t]
			for i, v := range flat[block*n : (block+1)*n] {
				column[v] += score[i]
			}
			column[g.baseline] += g.fixed[k]
		}
		if g.own {
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

func (g *AnyBlocks) byComparisons(w *Scratch) float64 {
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
	return max(0, (dense.TraceInverse(m, k, g.reference)-g.extra)/g.trace-1)
}

func (g *AnyBlocks) byTerms(w *Scratch) float64 {
	k, m := g.side, g.terms
	z, y := w.columns[:m*k], w.columns[m*k:]
	for a := range m {
		for i := range k {
			y[a*k+i] = dense.Dot(g.inverse[i*k:(i+1)*k], z[a*k:(a+1)*k])
		}
	}
	left, right := w.square[:m*m], w.product[:m*m]
	for a := range m {
		for b := range a + 1 {
			left[a*m+b] = -dense.Dot(z[a*k:(a+1)*k], y[b*k:(b+1)*k])
			u := dense.Dot(y[a*k:(a+1)*k], y[b*k:(b+1)*k])
			right[a*m+b], right[b*m+a] = u, u
		}
		left[a*m+a]++
	}
	// tr (L·Lᵀ)⁻¹·right.
	if !dense.Cholesky(left, m, 1) {
		return math.Inf(1)
	}
	dense.InvertLower(left, m)
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
