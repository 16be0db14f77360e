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

// invertLower replaces the lower triangle L that cholesky left in a by its inverse X, row by row from
//
//	X(i) = (e(i) − Σ over p < i of L(i, p)·X(p)) / L(i, i).
func invertLower(a []float64, k int) {
	for i := range k {
		row := a[i*k : i*k+i+1]
		pivot := row[i]
		row[i] = 1
		for p := range i {
			// L(i, p) is still in its place: rows before p have changed the row before p only.
			f := row[p]
			row[p] = 0
			if f == 0 {
				continue
			}
			for j, x := range a[p*k : p*k+p+1] {
				row[j] -= float64(f * x)
			}
		}
		for j := range row {
			row[j] /= pivot
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

// inverse returns a⁻¹ in full for the positive definite k×k matrix a, which it overwrites; nil if a
// is singular relative to diag.
func inverse(a []float64, k int, diag float64) []float64 {
	if !cholesky(a, k, diag) {
		return nil
	}
	invertLower(a, k)
	// Xᵀ·X.
	inv := make([]float64, k*k)
	for p := range k {
		x := a[p*k : p*k+p+1]
		for i, u := range x {
			row := inv[i*k : i*k+i+1]
			for j := range row {
				row[j] += float64(u * x[j])
			}
		}
	}
	for i := range k {
		for j := range i {
			inv[j*k+i] = inv[i*k+j]
		}
	}
	return inv
}

func dot(x, y []float64) float64 {
	var sum float64
	for i, v := range x {
		sum += float64(v * y[i])
	}
	return sum
}
