package dist

import "math"

// kroneckerRoots returns the steps of a Kronecker sequence: the fractions of the square
// roots of the first primes (Richtmyer 1951).
func kroneckerRoots(dims int) []float64 {
	roots := make([]float64, 0, dims)
	for n := 2; len(roots) < cap(roots); n++ {
		prime := true
		for d := 2; d*d <= n && prime; d++ {
			prime = n%d != 0
		}
		if prime {
			_, f := math.Modf(math.Sqrt(float64(n)))
			roots = append(roots, f)
		}
	}
	return roots
}
