package law

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Loadings factors a correlation matrix with product structure: it returns l with
//
//	corr_ij = l_i l_j,   i ≠ j,   |l_i| < 1,
//
// to 1e-12 in each element, and ok false if there is no such l. Comparisons of
// independent means with a control have this structure, all pairs of more than three do
// not. The signs are such that the largest loading is positive; a matrix that leaves a
// choice (two variables, or one pair alone correlated) gets equal magnitudes.
func Loadings(corr mat.Symmetric) (l []float64, ok bool) {
	const tolerance = 1e-12
	n := corr.SymmetricDim()
	l = make([]float64, n)
	a, b, most := 0, 0, 0.0
	for i := range n {
		for j := range i {
			if r := math.Abs(corr.At(i, j)); r > most {
				a, b, most = i, j, r
			}
		}
	}
	if most <= tolerance {
		return l, true // independent
	}
	// A third variable c that is correlated with both a and b fixes the scale: l_a² =
	// r_ab r_ac / r_bc.
	c, link := -1, tolerance
	for j := range n {
		if r := math.Min(math.Abs(corr.At(a, j)), math.Abs(corr.At(b, j))); j != a && j != b && r > link {
			c, link = j, r
		}
	}
	square := most
	if c >= 0 {
		square = corr.At(a, b) * corr.At(a, c) / corr.At(b, c)
	}
	if !(square > 0 && square < 1) {
		return nil, false
	}
	l[a] = math.Sqrt(square)
	top := a
	for j := range n {
		if j != a {
			l[j] = corr.At(a, j) / l[a]
		}
		if math.Abs(l[j]) > math.Abs(l[top]) {
			top = j
		}
	}
	flip := math.Copysign(1, l[top])
	for i := range n {
		l[i] *= flip
		if !(math.Abs(l[i]) < 1) {
			return nil, false
		}
		for j := range i {
			if !(math.Abs(l[i]*l[j]-corr.At(i, j)) <= tolerance) {
				return nil, false
			}
		}
	}
	return l, true
}
