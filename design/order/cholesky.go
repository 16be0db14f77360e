package order

import "math"

// Small dense linear algebra whose results are the same to the last bit on every
// platform: each product is rounded before it is added, which forbids the compiler to fuse
// the two, and sums run in one order.

// rankTolerance is the share of a diagonal element that must remain after elimination for
// its column to count as independent of those before it.
const rankTolerance = 1e-9

// cholesky replaces the lower triangle of the symmetric k×k matrix a by L with a = L·Lᵀ.
// It reports false if a is not positive definite to within rankTolerance of diag.
func cholesky(a []float64, k int, diag float64) bool {
	for j := range k {
		d := a[j*k+j]
		for p := range j {
			d -= float64(a[j*k+p] * a[j*k+p])
		}
		if !(d > rankTolerance*diag) {
			return false
		}
		d = math.Sqrt(d)
		a[j*k+j] = d
		for i := j + 1; i < k; i++ {
			v := a[i*k+j]
			for p := range j {
				v -= float64(a[i*k+p] * a[j*k+p])
			}
			a[i*k+j] = v / d
		}
	}
	return true
}

// invertLower replaces the lower triangle L that cholesky left in a by its inverse.
func invertLower(a []float64, k int) {
	for j := range k {
		a[j*k+j] = 1 / a[j*k+j]
		for i := j + 1; i < k; i++ {
			var v float64
			for p := j; p < i; p++ {
				v -= float64(a[i*k+p] * a[p*k+j])
			}
			a[i*k+j] = v / a[i*k+i]
		}
	}
}

// traceInverse returns tr(a⁻¹) for the positive definite k×k matrix a, which it overwrites; +Inf
// if a is singular relative to diag.
func traceInverse(a []float64, k int, diag float64) float64 {
	if !cholesky(a, k, diag) {
		return math.Inf(1)
	}
	invertLower(a, k)
	var sum float64
	for i := range k {
		for j := range i + 1 {
			sum += float64(a[i*k+j] * a[i*k+j])
		}
	}
	return sum
}

// inverse returns a⁻¹ in full for the positive definite k×k matrix a, which it overwrites; nil if a is singular
// relative to diag.
func inverse(a []float64, k int, diag float64) []float64 {
	if !cholesky(a, k, diag) {
		return nil
	}
	invertLower(a, k)
	inv := make([]float64, k*k)
	for i := range k {
		for j := range i + 1 {
			var v float64
			for p := i; p < k; p++ {
				v += float64(a[p*k+i] * a[p*k+j])
			}
			inv[i*k+j], inv[j*k+i] = v, v
		}
	}
	return inv
}
