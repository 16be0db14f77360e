package linmod

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Means holds the adjusted means of all combinations of some factors.
type Means struct {
	Levels [][]int // of each mean: an index into the levels of each factor asked for
	N      []int   // of each mean: rows used with those levels

	r       *Result
	base    float64 // the part of every mean that no column of the triangle carries
	baseVar float64 // its variance over sigma²
	u       *matrix // column k: coordinates of mean k in the orthonormal basis of the triangle
	outside *matrix // column k: what of mean k lies outside the row space
	size    []float64
	unknown []bool // means of a level without a row
}

const panicFactor = "linmod: no such factor, or the same factor twice"

// Means returns the adjusted means (estimated marginal means) of all
// combinations of the given factors, which are indexes into Model.Factors; the
// first varies slowest. The linear predictor is averaged with equal weights over
// the levels of the other factors and of the blocks that have a used row, and
// each covariate stands at its mean over the used rows. Without factors there is
// one mean, the general one.
//
// The error is ErrTooLarge. Means panics if an index is out of range or is
// repeated.
func (r *Result) Means(factors ...int) (*Means, error) {
	d := r.design
	count := 1
	for i, f := range factors {
		if f < 0 || f >= len(d.factors) || slices.Contains(factors[:i], f) {
			panic(panicFactor)
		}
		count *= len(d.model.Factors[f].Levels)
		if count*max(count, d.cols) > maxEntries { // their coordinates and covariances
			return nil, fmt.Errorf("%d means: %w", count, ErrTooLarge)
		}
	}
	m := &Means{r: r, N: make([]int, count), size: make([]float64, count), unknown: make([]bool, count),
		u:       newMatrix(r.tri.rank(), count),
		outside: newMatrix(len(r.tri.dependent), count),
	}
	centre := m.takeBase()
	at := make([]int, len(factors))
	for k := range count {
		m.Levels = append(m.Levels, slices.Clone(at))
		m.locate(k, d.point(factors, at), centre)
		for i := len(at) - 1; i >= 0; i-- {
			if at[i]++; at[i] < len(d.model.Factors[factors[i]].Levels) {
				break
			}
			at[i] = 0
		}
	}
	for c := range d.cells.count() {
		k := 0
		for _, f := range factors {
			k = k*len(d.model.Factors[f].Levels) + int(d.model.Factors[f].Code[d.cells.first(c)])
		}
		m.N[k] += d.cells.n(c)
	}
	return m, nil
}

// takeBase sets the part that sweeping took out of every mean, the equally
// weighted average of the level means, and returns the same average of the
// columns.
func (m *Means) takeBase() (centre []float64) {
	s := m.r.swept
	levels := float64(s.by.levels())
	m.base = m.r.design.centre + floats.Sum(s.yMean)/levels
	for _, n := range s.n {
		m.baseVar += 1 / (n * levels * levels)
	}
	centre = make([]float64, s.xMean.cols)
	for j := range centre {
		centre[j] = floats.Sum(s.xMean.col(j)) / levels
	}
	return centre
}

// locate finds the coordinates of mean k, at the given point.
func (m *Means) locate(k int, p Point, centre []float64) {
	t := m.r.tri
	l, known := m.r.design.at(p)
	if !known {
		m.unknown[k] = true
		return
	}
	floats.Sub(l, centre)
	u := m.u.col(k)
	for i, j := range t.independent {
		u[i] = l[j]
	}
	t.forward(u)
	out := m.outside.col(k)
	for i, j := range t.dependent {
		r := t.m.col(j)[:len(u)]
		out[i] = l[j] - dot(r, u)
		size := 1 + math.Abs(l[j]) // 1: an indicator, a covariate in its own scale
		for h, v := range u {
			size += math.Abs(v * r[h])
		}
		m.size[k] = max(m.size[k], size)
	}
}

// average returns the columns of the design at the given level of each factor,
// averaged over the used levels of those at -1 and of the blocks (see
// blockShares), covariates at their means.
func (d *design) average(level []int) []float64 {
	l := make([]float64, d.cols)
	for i := range d.terms {
		t := &d.terms[i]
		switch t.kind {
		case BlockTerm:
			if t.cols > 0 {
				copy(l[t.from:], d.blockShares(t.index)[1:])
			}
		case TreatmentTerm:
			// The columns of an interaction are products: so are their averages.
			x := l[t.from : t.from+t.cols]
			for j := range x {
				x[j] = 1
			}
			step := 1
			for _, f := range slices.Backward(t.factors) {
				levels := d.factors[f].levels()
				for j := range x {
					switch own := j/step%(levels-1) + 1; level[f] {
					case -1:
						x[j] /= float64(levels)
					case own:
					default:
						x[j] = 0
					}
				}
				step *= levels - 1
			}
		}
	}
	return l
}
