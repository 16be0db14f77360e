package resample

import (
	"math"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// betweenWeight is the weight of what lies between whole plots against what lies
// within them, when effects are estimated. It is the best one where whole plots
// vary ten times as much as runs within them would make them, and close to it from
// thrice to thirty times. Where every treatment is compared wholly within or
// wholly between whole plots it changes nothing.
const betweenWeight = 0.1

// plots is what lies between the whole plots of a layout, blocks and drift taken
// out. An orthonormal basis of it, times the root of 1 − betweenWeight, is the end of
// the basis of the layout, so that its projection weights the strata.
type plots struct {
	first int     // of its columns in that basis
	n     int     // columns
	scale float64 // takes the factor off again

	across []int     // of each comparison: 1 if whole plots decide how precise it is, 0 if runs within them do
	shifts []float64 // B'X of the shift of each comparison, in the drawn order
}

// newPlots returns what lies between whole plots, if anything, and adds it to the basis
// of blocks and drift.
func newPlots(fit *linmod.Result, code []int32, used []int32, b *basis) *plots {
	n := len(used)
	q := fit.Basis()
	var space [][]float64
	for j := range fit.Rank {
		column := make([]float64, n)
		for i, slot := range used {
			column[i] = q.At(int(slot), j)
		}
		space = append(space, column)
	}
	of := map[int32][]float64{}
	var known []int32
	for i, slot := range used {
		c := code[slot]
		if of[c] == nil {
			of[c] = make([]float64, n)
			known = append(known, c)
		}
		of[c][i] = 1
	}
	for _, c := range known {
		space = extend(space, of[c])
	}
	p := &plots{first: fit.Rank, n: len(space) - fit.Rank, scale: 1 / math.Sqrt(1-betweenWeight)}
	if p.n == 0 {
		return nil
	}
	b.append(space[fit.Rank:], math.Sqrt(1-betweenWeight))
	return p
}

// append adds columns to the basis, times scale.
func (b *basis) append(columns [][]float64, scale float64) {
	wide := basis{cols: b.cols + len(columns), from: []int32{0}}
	for i := range len(b.from) - 1 {
		at, value := b.row(i)
		wide.at, wide.value = append(wide.at, at...), append(wide.value, value...)
		for j, c := range columns {
			if math.Abs(c[i]) > negligible {
				wide.at, wide.value = append(wide.at, int32(b.cols+j)), append(wide.value, scale*c[i])
			}
		}
		wide.from = append(wide.from, int32(len(wide.at)))
	}
	*b = wide
}

// project returns B'x of the values x of the used slots.
func (p *plots) project(b *basis, x []float64) []float64 {
	out := make([]float64, p.n)
	for i, v := range x {
		at, value := b.row(i)
		for h, j := range at {
			if k := int(j) - p.first; k >= 0 {
				out[k] += v * value[h] * p.scale
			}
		}
	}
	return out
}

// weigh takes out of e all but the part betweenWeight of what lies between whole plots.
func (p *plots) weigh(b *basis, e []float64) {
	q := p.project(b, e)
	for i := range e {
		at, value := b.row(i)
		for h, j := range at {
			if k := int(j) - p.first; k >= 0 {
				e[i] -= value[h] * q[k] / p.scale
			}
		}
	}
}

// columns copies B'X out of Q'X, a row for each treatment.
func (p *plots) columns(dst, a []float64, cols int) {
	for t := range len(dst) / p.n {
		for j := range p.n {
			dst[t*p.n+j] = p.scale * a[t*cols+p.first+j]
		}
	}
}

// stratify sets the strata of the drawn order, all else being set. A comparison
// whose stratum has no noise left to judge it by is not estimable.
func (l *layout) stratify() {
	b, n := l.plots.n, l.treatments
	m := newMoments(l)
	m.order(l.design.Drawn)
	m.strata()
	l.plots.shifts = make([]float64, len(l.v)*b)
	for k, v := range l.v {
		for j := range b {
			l.plots.shifts[k*b+j] = v * l.contrasts.value(k, m.plots.w[j*n:j*n+n])
		}
		across := 0
		if m.plots.between[k] > betweenWeight*m.plots.within[k] {
			across = 1
		}
		l.plots.across = append(l.plots.across, across)
		if !m.plots.judged(k) {
			l.v[k] = 0
		}
	}
	for i := range l.families {
		f := &l.families[i]
		var any [2]int
		for k := f.from; k < f.to; k++ {
			if l.estimable(k) {
				any[l.plots.across[k]] = 1
			}
		}
		f.strata = max(1, any[0]+any[1])
	}
}

// strata is how much runs of an order vary within whole plots, and whole plots
// between one another, in units of a run.
type strata struct {
	within, between     float64 // mean squares
	dfWithin, dfBetween float64 // of the residual; their sum is a whole number
}

// fewest is the degrees of freedom that a stratum must have for its noise to be
// known. Those of an order are whole unless runs are missing or drift is not
// balanced within it.
const fewest = 0.5

// newStrata returns the mean squares from the residual sums of squares, of which
// total weights the strata.
func newStrata(total, between float64, m *plotMoments) strata {
	s := strata{dfWithin: m.dfWithin, dfBetween: m.dfBetween}
	if s.dfWithin >= fewest {
		s.within = max(0, total-betweenWeight*between) / s.dfWithin
	}
	if s.dfBetween >= fewest {
		s.between = between / s.dfBetween
	}
	return s
}

// score puts a comparison on the scale of χ² on one degree of freedom: its square
// over its variance, that within and that between whole plots, with the degrees of
// freedom of Satterthwaite 1946 (Biometrics Bulletin 2, 110–114), by the normal
// deviate of Wallace 1959 (Annals of Mathematical Statistics 30, 1124–1130):
//
//	z² = ((8df + 1)/(8df + 3))² · df·ln(1 + t²/df)
//
// It is infinite if there is no noise.
func (s strata) score(square, w, b float64) float64 {
	switch {
	case square == 0:
		return 0
	case w+b == 0:
		return infinite
	}
	df := s.df(w, b)
	f := (8*df + 1) / (8*df + 3)
	return f * f * df * math.Log1p(square/((w+b)*df))
}

// df returns the degrees of freedom of a variance of two parts.
func (s strata) df(w, b float64) float64 {
	var d float64
	if w > 0 {
		d += w * w / s.dfWithin
	}
	if b > 0 {
		d += b * b / s.dfBetween
	}
	return (w + b) * (w + b) / d
}

// together is the F tests of all treatments, within and between whole plots, in
// one: −2·Σ ln p (Fisher 1932, Statistical Methods for Research Workers, § 21.1), from the
// sums of squares of treatments and residual in each and their degrees of freedom.
// A stratum without treatments or without noise to judge them by is left out.
func together(ss, rss, rank, df [2]float64) float64 {
	var sum float64
	for i := range ss {
		if rank[i] < fewest || df[i] < fewest || !(ss[i] > 0) {
			continue
		}
		p := law.Beta{A: df[i] / 2, B: rank[i] / 2}.CDF(max(0, rss[i]) / (max(0, rss[i]) + ss[i]))
		sum -= 2 * math.Log(max(p, math.SmallestNonzeroFloat64))
	}
	return sum
}

// level is what a score has to reach to count as no less than another.
func level(score float64) float64 {
	const rounding, none = 1e-9, 1e-12
	return score*(1-rounding) - none
}
