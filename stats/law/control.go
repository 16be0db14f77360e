package law

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// control is a law with product structure close to another one, used as its
// control variate: the same points give both sums, and what is estimated is the
// difference between them,
//
//	P = P_0 + E(sum - sum_0),
//
// with P_0 exact by ManyToOneT. Whatever the law, this is unbiased; the error is smaller
// by as much as the two correlation matrices are alike. Comparisons with a
// baseline that a covariate or an incomplete block disturbs are alike to a few hundredths.
type control struct {
	loadings []float64
	boxes    []box
}

// controlReach is how far a correlation may lie from that of the control.
const controlReach = 0.1

// newControl finds the control of a law whose boxes are given, or nil where there is no close
// one, or where the matrix is singular, which the control never is.
func newControl(corr mat.Symmetric, boxes []box) *control {
	n := corr.SymmetricDim()
	l := nearestLoadings(corr)
	for i := range n {
		for j := range i {
			if !(math.Abs(corr.At(i, j)-l[i]*l[j]) <= controlReach) {
				return nil
			}
		}
	}
	near := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i {
			near.SetSym(i, j, l[i]*l[j])
		}
		near.SetSym(i, i, 1)
	}
	c := &control{loadings: l}
	for i, b := range boxes {
		if len(b.same) > 0 || len(b.rows) != i {
			return nil
		}
		c.boxes = append(c.boxes, factorBox(near, i, b.order))
	}
	return c
}

// exact returns P(max > x) of the control.
func (c *control) exact(df, x float64, twoSided bool) float64 {
	return ManyToOneT{Loadings: c.loadings, DF: df}.Survival(x, twoSided)
}

// nearestLoadings returns the l that brings Σ (corr_ij - l_i l_j)² over i ≠ j to a
// minimum, by coordinate descent, each kept within 0.99 (one-factor analysis by
// minimum residuals: Harman and Jones 1966, Psychometrika 31, 351-368). They are
// rounded to 1/256, so that laws which are almost alike share a control, and
// with it the tables of its tail.
func nearestLoadings(corr mat.Symmetric) []float64 {
	const most, sweeps, grid = 0.99, 60, 256
	n := corr.SymmetricDim()
	l := make([]float64, n)
	for i := range l {
		for j := range n {
			if j != i {
				l[i] += math.Abs(corr.At(i, j)) / float64(n-1)
			}
		}
		l[i] = math.Sqrt(l[i])
		if corr.At(i, 0) < 0 {
			l[i] = -l[i]
		}
	}
	for range sweeps {
		for i := range l {
			product, square := 0.0, 0.0
			for j, v := range l {
				if j != i {
					product += corr.At(i, j) * v
					square += v * v
				}
			}
			if square > 0 {
				l[i] = math.Max(-most, math.Min(most, product/square))
			}
		}
	}
	for i, v := range l {
		l[i] = math.Round(v*grid) / grid
	}
	return l
}
