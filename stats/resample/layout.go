package resample

import (
	"math"

	"fairrun/stats/linmod"
)

// layout is what a design comes to on the slots that have a response: all of a
// test that does not depend on the values of the response.
type layout struct {
	design     *Design
	treatments int
	used       []int32 // slots with a response
	drawn      []int32 // their treatments as drawn
	basis      basis
	plots      *plots // nil: none
	df         int    // of treatments and residual together

	a    []float64 // Q'X of the drawn order, a row for each treatment
	info information

	// The comparisons of all families, and 1/ℓ'C⁻ℓ of those that the drawn order
	// can estimate, zero of the others. The shift of a comparison, the effects
	// C⁻ℓ/ℓ'C⁻ℓ, change it by one at the least sum of squares, that number.
	contrasts contrasts
	weights   [][]float64
	v         []float64
	families  []family
}

// family is a run of the comparisons of a layout.
type family struct {
	from, to int // comparisons

	// An orthonormal basis of the comparisons that the drawn order can estimate,
	// a row of weights each, and the inverse of its covariance in that order.
	space   [][]float64
	inverse []float64
	effects [][]float64 // C⁻·space
	strata  int         // in which the comparisons lie; each has an equal part of the level
	whole   bool        // they span all differences between treatments
}

// newLayout lays a design out on the slots that a fit of its model has used.
func newLayout(d *Design, fit *linmod.Result) (*layout, error) {
	l := &layout{design: d, treatments: d.Treatments, df: fit.DF, basis: newBasis(fit)}
	for slot, used := range fit.Used {
		if used {
			l.used = append(l.used, int32(slot))
			l.drawn = append(l.drawn, d.Drawn[slot])
		}
	}
	if d.Plots != nil {
		l.plots = newPlots(fit, d.Plots, l.used, &l.basis)
	}
	m := newMoments(l)
	m.order(d.Drawn)
	l.a = m.a
	l.info = m.info
	switch {
	case l.info.rank == 0:
		return nil, ErrConfounded
	case l.residual() < 1:
		return nil, ErrNoNoise
	}
	for _, f := range d.Families {
		l.addFamily(f)
	}
	if l.plots != nil {
		l.stratify()
	}
	return l, nil
}

// addFamily adds the comparisons of a family.
func (l *layout) addFamily(f Family) {
	n := l.treatments
	g := family{from: len(l.v), strata: 1}
	for k, weights := range f.Contrasts {
		l.contrasts.add(weights)
		l.weights = append(l.weights, weights)
		v := 0.0
		if l.info.estimable(weights) {
			v = 1 / l.contrasts.variance(g.from+k, l.info.b, n)
			g.space = extend(g.space, weights)
		}
		l.v = append(l.v, v)
	}
	g.to = len(l.v)
	g.whole = len(g.space) == l.info.rank
	g.effects = make([][]float64, len(g.space))
	for i := range g.effects {
		g.effects[i] = make([]float64, n)
	}
	g.inverse = make([]float64, len(g.space)*len(g.space))
	l.info.within(g.space, g.effects, g.inverse, make([]float64, len(g.space)))
	l.families = append(l.families, g)
}

// extend adds to an orthonormal set what weights have outside it, by Gram and
// Schmidt, twice for the sake of rounding.
func extend(space [][]float64, weights []float64) [][]float64 {
	v := make([]float64, len(weights))
	copy(v, weights)
	for range 2 {
		for _, q := range space {
			f := dot(q, v)
			for i := range v {
				v[i] -= f * q[i]
			}
		}
	}
	length := math.Sqrt(dot(v, v))
	if length <= 1e-9*math.Sqrt(dot(weights, weights)) {
		return space
	}
	for i := range v {
		v[i] /= length
	}
	return append(space, v)
}

// residual returns the residual degrees of freedom of the drawn order.
func (l *layout) residual() int { return l.df - l.info.rank }

// estimable reports whether the drawn order can estimate comparison k.
func (l *layout) estimable(k int) bool { return l.v[k] > 0 }

// constrain returns the effects that are left of tau, against its own fit, when
// all comparisons of the family are taken to be zero, and the sum of squares
// that this costs:
//
//	C⁻L'(LC⁻L')⁻Lτ    (Lτ)'(LC⁻L')⁻Lτ
func (f *family) constrain(tau []float64) (effects []float64, ss float64) {
	n := len(f.space)
	effects = make([]float64, len(tau))
	value := make([]float64, n)
	for i, q := range f.space {
		value[i] = dot(q, tau)
	}
	for i := range n {
		w := dot(f.inverse[i*n:i*n+n], value)
		ss += w * value[i]
		for t := range effects {
			effects[t] += w * f.effects[i][t]
		}
	}
	return effects, ss
}

// subtract takes the projected effects of the drawn order out of e:
// e − (X − QQ'X)tau.
func (l *layout) subtract(e, tau []float64) {
	q := make([]float64, l.basis.cols)
	for t, w := range tau {
		for j := range q {
			q[j] += w * l.a[t*l.basis.cols+j]
		}
	}
	for i, k := range l.drawn {
		at, value := l.basis.row(i)
		var fitted float64
		for h, j := range at {
			fitted += value[h] * q[j]
		}
		e[i] -= tau[k] - fitted
	}
}

// basis is an orthonormal basis of blocks and drift on the used slots, by rows,
// without its zeros: a row has one entry for its block and one for each drift
// term that reaches it.
type basis struct {
	cols  int
	from  []int32
	at    []int32
	value []float64
}

// negligible is an entry of an orthonormal basis that is no more than rounding.
const negligible = 1e-14

func newBasis(fit *linmod.Result) basis {
	q := fit.Basis()
	b := basis{cols: fit.Rank, from: []int32{0}}
	for slot, used := range fit.Used {
		if !used {
			continue
		}
		for j, v := range q.RawRowView(slot) {
			if math.Abs(v) > negligible {
				b.at = append(b.at, int32(j))
				b.value = append(b.value, v)
			}
		}
		b.from = append(b.from, int32(len(b.at)))
	}
	return b
}

// row returns the columns in which used slot i has an entry, and the entries.
func (b *basis) row(i int) (at []int32, value []float64) {
	return b.at[b.from[i]:b.from[i+1]], b.value[b.from[i]:b.from[i+1]]
}

func dot(x, y []float64) float64 {
	var s float64
	for i, v := range x {
		s += v * y[i]
	}
	return s
}

// multiply sets dst to a·x for a square matrix a in rows.
func multiply(dst, a, x []float64) {
	n := len(x)
	for i := range dst {
		dst[i] = dot(a[i*n:i*n+n], x)
	}
}
