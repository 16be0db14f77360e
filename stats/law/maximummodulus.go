package law

// MaximumModulus returns the law of the largest of n ≥ 1 independent normal variables, or of their
// magnitudes, over one estimate of their standard deviation on df degrees of freedom: the studentized maximum
// modulus, for orthogonal contrasts that are judged together. Ask it with twoSided true.
//
// It is ManyToOneT without a common factor, and as accurate (TestMaximumModulus).
func MaximumModulus(n int, df float64) ManyToOneT {
	return ManyToOneT{Loadings: make([]float64, n), DF: df}
}
