package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Correlation scales a covariance matrix to ones on the diagonal. A variance
// of zero or less is the caller's mistake.
func Correlation(cov mat.Symmetric) *mat.SymDense {
	n := cov.SymmetricDim()
	c := mat.NewSymDense(n, nil)
	for i := range n {
		if !(cov.At(i, i) > 0) {
			panic("compare: Correlation needs positive variances")
		}
		for j := i; j < n; j++ {
			c.SetSym(i, j, cov.At(i, j)/math.Sqrt(cov.At(i, i)*cov.At(j, j)))
		}
		c.SetSym(i, i, 1)
	}
	return c
}

// correlationAgainst returns the correlation matrix of the k−1 differences
// between level i and each other level.
func correlationAgainst(cov mat.Symmetric, i int) *mat.SymDense {
	k := cov.SymmetricDim()
	var others []int
	for j := range k {
		if j != i {
			others = append(others, j)
		}
	}
	c := mat.NewSymDense(k-1, nil)
	for a, j := range others {
		for b := a; b < len(others); b++ {
			l := others[b]
			c.SetSym(a, b, cov.At(j, l)-cov.At(j, i)-cov.At(i, l)+cov.At(i, i))
		}
	}
	return Correlation(c)
}
