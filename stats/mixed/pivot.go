package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"fairrun/stats/law"
)

// Pivot is what comparisons among means rest on where some are made within whole plots and others across them, see
// [law.Pivots]. The model has one random factor: whole plots.
type Pivot struct {
	// Cov is the covariance matrix of the means at the estimated variances, that between whole plots free to be
	// less than the noise from run to run explains. NaN for a mean without a run.
	Cov *mat.SymDense

	strata law.Strata
	plots  []int // of each mean: a number that it shares with those in the same whole plots; -1 without a run
}

// mostPlots bounds the whole plots of a [Pivot]. With more, their noise is as good as known.
const mostPlots = 300

// Pivot returns what comparisons of the means rest on. It is false where they all rest on one stratum: all means
// or none stand together in whole plots; and where the model is another, or no degrees of freedom are left in a stratum.
//
// With X the fixed part and Z the whole plots, the contrasts between whole plots that X leaves are along the eigenvectors
// of Z'MZ, M = I − X(X'X)⁻¹X'; their eigenvalues are the shares that whole plots have in them.
func (m *Means) Pivot() (*Pivot, bool) {
	r := m.r
	if len(r.random) != 1 || m.factors == nil || len(r.random[0].count) > mostPlots {
		return nil, false
	}
	p := &Pivot{plots: m.plots()}
	if !mixes(p.plots) || !p.squares(r) {
		return nil, false
	}
	p.loads(m)
	return p, true
}

// Across reports whether means i and j stand in different whole plots.
func (p *Pivot) Across(i, j int) bool { return p.plots[i] != p.plots[j] }

// SE is the standard error of the difference of means i and j.
func (p *Pivot) SE(i, j int) float64 {
	return math.Sqrt(p.Cov.At(i, i) + p.Cov.At(j, j) - 2*p.Cov.At(i, j))
}

// Contrast is mean i less mean j as [law.Pivots] takes it.
func (p *Pivot) Contrast(i, j int) law.Contrast {
	c := law.Contrast{I: i, J: j, SE: p.SE(i, j), In: law.WithinPlots}
	if p.Across(i, j) {
		c.In = law.AcrossPlots
	}
	return c
}

// Law is that of some contrasts together.
func (p *Pivot) Law(of []law.Contrast, oneSided bool, points int) *law.Pivots {
	return law.NewPivots(&p.strata, of, oneSided, points)
}

// plots numbers the sets of means that stand in the same whole plots.
func (m *Means) plots() []int {
	of := make([]int, len(m.N))
	for i := range of {
		of[i] = i
	}
	find := func(i int) int {
		for of[i] != i {
			i = of[i]
		}
		return i
	}
	g := &m.r.random[0]
	first := make([]int, len(g.count))
	for i := range first {
		first[i] = -1
	}
	for h, row := range m.r.columns.Rows {
		i := 0
		for _, k := range m.factors {
			f := &m.r.factors[k]
			i = i*len(f.Levels) + int(f.Code[row])
		}
		if plot := g.code[h]; first[plot] < 0 {
			first[plot] = i
		} else if a, b := find(first[plot]), find(i); a != b {
			of[max(a, b)] = min(a, b)
		}
	}
	out := make([]int, len(of))
	for i := range out {
		if out[i] = find(i); m.N[i] == 0 {
			out[i] = -1
		}
	}
	return out
}

// mixes reports whether some means share whole plots and some do not.
func mixes(plots []int) bool {
	alone, first := true, -1
	several := false
	for i, p := range plots {
		if p < 0 {
			continue
		}
		if first < 0 {
			first = p
		}
		several = several || p != first
		alone = alone && p == i
	}
	return several && !alone
}

// squares finds the contrasts between whole plots and the sum of squares within.
func (p *Pivot) squares(r *Result) bool {
	g := &r.random[0]
	plots := len(g.count)
	xz := mat.NewDense(max(1, r.Rank), plots, nil)
	for k, q := range r.basis.q {
		row := xz.RawRowView(k)
		for h, c := range g.code {
			row[c] += q[h]
		}
	}
	zmz := mat.NewSymDense(plots, nil)
	largest := 0
	for i, n := range g.count {
		largest = max(largest, n)
		for j := i; j < plots; j++ {
			v := 0.0
			for k := range r.Rank {
				v -= xz.At(k, i) * xz.At(k, j)
			}
			if i == j {
				v += float64(n)
			}
			zmz.SetSym(i, j, v)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(zmz, true) {
		return false
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	e := append([]float64(nil), r.scaled...)
	r.basis.takeOut(e)
	column := make([]float64, r.N)
	s := &p.strata
	for k, share := range eigen.Values(nil) {
		if share <= noShare*float64(largest) {
			continue
		}
		for h, c := range g.code {
			column[h] = vectors.At(int(c), k)
		}
		r.basis.takeOut(column)
		floats.Scale(1/floats.Norm(column, 2), column)
		z := floats.Dot(column, e)
		floats.AddScaled(e, -z, column)
		s.Square, s.Share = append(s.Square, z*z*r.scale*r.scale), append(s.Share, share)
	}
	s.SS = floats.Dot(e, e) * r.scale * r.scale
	s.DF = float64(r.DF - len(s.Square))
	return len(s.Square) > 0 && s.DF > 0 && s.SS > 0
}

// noShare is what rounding leaves of a share of whole plots that is none, as a part of the largest whole plot.
const noShare = 1e-9

// loads finds what the means lean on. The estimate of mean i is a'y with a = H⁻¹XΦu, and its variance
// σ²|a|² + σw²|Z'a|²: what a is within whole plots, and its sum in each.
func (p *Pivot) loads(m *Means) {
	r := m.r
	g := &r.random[0]
	gamma := r.opt.gamma[0]
	n := len(m.N)
	within, between := make([][]float64, n), make([][]float64, n)
	reference := -1
	for i, u := range m.u {
		if u == nil || m.N[i] == 0 {
			continue
		}
		if reference < 0 {
			reference = i
		}
		var t mat.VecDense
		t.MulVec(r.kr.phi, mat.NewVecDense(len(u), u))
		a, sum := make([]float64, r.N), make([]float64, len(g.count))
		for k, q := range r.basis.q {
			floats.AddScaled(a, t.AtVec(k), q)
		}
		for h, c := range g.code {
			sum[c] += a[h]
		}
		for h, c := range g.code {
			a[h] -= sum[c] / float64(g.count[c]) // H⁻¹ leaves what is within as it is
		}
		for c, count := range g.count {
			size := float64(count)
			sum[c] /= (1 + gamma*size) * math.Sqrt(size)
		}
		within[i], between[i] = a, sum
	}
	s := &p.strata
	s.Runs = sizes(g.count)
	sigma2, plot2 := s.Variances()
	p.Cov = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v := math.NaN()
			if within[i] != nil && within[j] != nil {
				v = sigma2 * floats.Dot(within[i], within[j])
				for c, count := range g.count {
					v += max(0, sigma2+float64(count)*plot2) * between[i][c] * between[j][c]
				}
			}
			p.Cov.SetSym(i, j, v)
		}
	}
	// The law of differences needs the means less one of them only.
	fromFirst := func(x [][]float64, keep func(c int) bool) [][]float64 {
		out := make([][]float64, n)
		for i, v := range x {
			if v == nil {
				continue
			}
			for c := range v {
				if keep(c) {
					out[i] = append(out[i], v[c]-x[reference][c])
				}
			}
		}
		return inBasis(out)
	}
	s.Within = fromFirst(within, func(int) bool { return true })
	for _, size := range s.Runs {
		s.Between = append(s.Between, fromFirst(between, func(c int) bool { return float64(g.count[c]) == size }))
	}
}

// sizes are the different counts, the largest first.
func sizes(count []int) (out []float64) {
	last := math.MaxInt
	for {
		next := 0
		for _, n := range count {
			if n < last {
				next = max(next, n)
			}
		}
		if next == 0 {
			return out
		}
		out, last = append(out, float64(next)), next
	}
}

// inBasis returns the coordinates of some vectors, zero where there is none, in an orthonormal basis of the space they span.
func inBasis(vectors [][]float64) [][]float64 {
	const negligible = 1e-9
	b := &basis{}
	out := make([][]float64, len(vectors))
	largest := 0.0
	for _, v := range vectors {
		largest = max(largest, floats.Norm(v, 2))
	}
	for i, v := range vectors {
		if v == nil {
			continue
		}
		r := b.takeOut(v)
		if length := floats.Norm(v, 2); length > negligible*largest {
			floats.Scale(1/length, v)
			b.q = append(b.q, v)
			r = append(r, length)
		}
		out[i] = r
	}
	for i, r := range out {
		out[i] = append(r, make([]float64, b.rank()-len(r))...)
	}
	return out
}

// Strata are the mean squares that the means lean on.
func (p *Pivot) Strata() *law.Strata { return &p.strata }

// Set is a number that mean i shares with those in the same whole plots; -1 without a run.
func (p *Pivot) Set(i int) int { return p.plots[i] }
