package blocks

// gf is a finite field with elements 0, 1, …, q−1, of which 0 and 1 are the zero and the one.
type gf struct{ add, times [][]int }

// galois returns the field of q elements if q is a power of a prime. Elements are polynomials over
// the prime field, their coefficients the digits of the number to the base p, multiplied modulo the
// first irreducible polynomial of the degree.
func galois(q int) (gf, bool) {
	p := 2
	for p*p <= q && q%p != 0 {
		p++
	}
	if q%p != 0 {
		p = q
	}
	degree := 0
	for v := q; v > 1; v /= p {
		if v%p != 0 {
			return gf{}, false
		}
		degree++
	}
	if degree == 0 {
		return gf{}, false
	}
	for low := range q {
		// The polynomial zᵈ + low.
		if f, ok := fieldModulo(p, degree, q, low); ok {
			return f, true
		}
	}
	return gf{}, false
}

// fieldModulo returns the ring of polynomials over p of degree below d modulo zᵈ + low, and whether
// it is a field.
func fieldModulo(p, d, q, low int) (gf, bool) {
	digits := func(v int) []int {
		x := make([]int, d)
		for i := range x {
			x[i], v = v%p, v/p
		}
		return x
	}
	number := func(x []int) int {
		v := 0
		for i := d - 1; i >= 0; i-- {
			v = v*p + x[i]
		}
		return v
	}
	modulus := digits(low)
	f := gf{add: make([][]int, q), times: make([][]int, q)}
	for a := range q {
		f.add[a], f.times[a] = make([]int, q), make([]int, q)
		x := digits(a)
		units := false
		for b := range q {
			y := digits(b)
			sum := make([]int, d)
			product := make([]int, 2*d)
			for i := range d {
				sum[i] = (x[i] + y[i]) % p
				for j := range d {
					product[i+j] = (product[i+j] + x[i]*y[j]) % p
				}
			}
			for i := 2*d - 1; i >= d; i-- {
				for j, m := range modulus {
					product[i-d+j] = (product[i-d+j] + (p-product[i])*m) % p
				}
			}
			f.add[a][b], f.times[a][b] = number(sum), number(product[:d])
			units = units || f.times[a][b] == 1
		}
		if a > 0 && !units {
			return gf{}, false
		}
	}
	return f, true
}
