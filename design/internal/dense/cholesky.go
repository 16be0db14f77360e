package dense

import "math"

// Each product is rounded before it is added, which forbids the compiler to fuse the two, and sums
// run in one order.

// RankTolerance is the share of a diagonal element that must remain after elimination for
// its column to count as independent of those before it.
const RankTolerance = 1e-9

// Cholesky replaces the lower triangle of the symmetric k×k matrix a by L with a = L·Lᵀ.
// It reports false if a is not positive definite to within RankTolerance of diag.
func Cholesky(a []float64, k int, diag float64) bool {
	for j := range k {
		d := a[j*k+j]
		for p := range j {
			d -= float64(a[j*k+p] * a[j*k+p])
		}
		if !(d > RankTolerance*diag) {
			return false
		}
		d = math.Sqrt(d)
		a[j*k+j] = d
		y := a[j*k : j*k+j]
		i := j + 1
		for ; i+3 < k; i += 4 { // four sums at a time, each in its order
			x0, x1, x2, x3 := a[i*k:i*k+j+1], a[(i+1)*k:(i+1)*k+j+1], a[(i+2)*k:(i+2)*k+j+1], a[(i+3)*k:(i+3)*k+j+1]
			v0, v1, v2, v3 := x0[j], x1[j], x2[j], x3[j]
			for p, f := range y {
				v0 -= float64(x0[p] * f)
				v1 -= float64(x1[p] * f)
				v2 -= float64(x2[p] * f)
				v3 -= float64(x3[p] * f)
			}
			x0[j], x1[j], x2[j], x3[j] = v0/d, v1/d, v2/d, v3/d
		}
		for ; i < k; i++ {
			x := a[i*k : i*k+j+1]
			v := x[j]
			for p, f := range y {
				v -= float64(x[p] * f)
			}
			x[j] = v / d
		}
	}
	return true
}

// InvertLower replaces the lower triangle L that cholesky left in a by its inverse X, row by row from
//
//	X(i) = (e(i) − Σ over p < i of L(i, p)·X(p)) / L(i, i).
func InvertLower(a []float64, k int) {
	for i := range k {
		row := a[i*k : i*k+i+1]
		pivot := row[i]
		row[i] = 1
		// L(i, p) is still in its place: rows before p have changed the row before p only.
		p := 0
		for ; p+1 < i; p += 2 { // two rows at a time, each element's terms in their order
			f, g := row[p], row[p+1]
			row[p], row[p+1] = 0, 0
			x, y := a[p*k:p*k+p+1], a[(p+1)*k:(p+1)*k+p+2]
			z := row[:len(x)]
			for j, v := range x {
				z[j] = z[j] - float64(f*v) - float64(g*y[j])
			}
			row[p+1] -= float64(g * y[p+1])
		}
		for ; p < i; p++ {
			f := row[p]
			row[p] = 0
			for j, x := range a[p*k : p*k+p+1] {
				row[j] -= float64(f * x)
			}
		}
		for j := range row {
			row[j] /= pivot
		}
	}
}

// TraceInverse returns tr(a⁻¹) for the positive definite k×k matrix a, which it overwrites; +Inf
// if a is singular relative to diag.
func TraceInverse(a []float64, k int, diag float64) float64 {
	if !Cholesky(a, k, diag) {
		return math.Inf(1)
	}
	InvertLower(a, k)
	var sum float64
	for i := range k {
		for j := range i + 1 {
			sum += float64(a[i*k+j] * a[i*k+j])
		}
	}
	return sum
}

// Inverse returns a⁻¹ in full for the positive definite k×k matrix a, which it overwrites; nil if a
// is singular relative to diag.
func Inverse(a []float64, k int, diag float64) []float64 {
	if !Cholesky(a, k, diag) {
		return nil
	}
	InvertLower(a, k)
	// Xᵀ·X.
	inv := make([]float64, k*k)
	p := 0
	for ; p+1 < k; p += 2 { // two terms at a time, in their order
		x, y := a[p*k:p*k+p+1], a[(p+1)*k:(p+1)*k+p+2]
		for i, u := range x {
			w := y[i]
			row := inv[i*k : i*k+i+1]
			v, z := x[:len(row)], y[:len(row)]
			for j, r := range row {
				row[j] = r + float64(u*v[j]) + float64(w*z[j])
			}
		}
		AddScaled(inv[(p+1)*k:(p+1)*k+p+2], y, y[p+1])
	}
	for ; p < k; p++ {
		x := a[p*k : p*k+p+1]
		for i, u := range x {
			AddScaled(inv[i*k:i*k+i+1], x, u)
		}
	}
	for i := range k {
		for j := range i {
			inv[j*k+i] = inv[i*k+j]
		}
	}
	return inv
}

// Dot returns the sum of the products of x and y.
func Dot(x, y []float64) float64 {
	var sum float64
	for i, v := range x {
		sum += float64(v * y[i])
	}
	return sum
}

// AddScaled adds f·x to z, which is no longer than x.
func AddScaled(z, x []float64, f float64) {
	for i := range z {
		z[i] += float64(f * x[i])
	}
}

// Divide divides x by f.
func Divide(x []float64, f float64) {
	for i := range x {
		x[i] /= f
	}
}
