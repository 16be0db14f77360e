package resample

import "math"

// information is what an order says of the treatments: C = X'MX, and its
// generalised inverse on the effects that the design allows.
type information struct {
	c    []float64 // treatments × treatments
	b    []float64 // Z(Z'CZ)⁻Z', likewise
	rank int

	// Z'CZ and its inverse, where Z spans the effects: the columns of z, or if
	// that is nil all effects that are zero on the last treatment, since blocks
	// take the general mean out anyway.
	z        [][]float64
	reduced  []float64
	inverse  []float64
	cz       []float64
	diagonal []float64
	work     [3][]float64
	n, cols  int
}

// dependent is the part of the squared length of a column of XZ that may be left
// when blocks, drift and other columns have been swept out, and the column still
// counts as depending on them.
const dependent = 1e-8

func newInformation(d *Design) information {
	n := d.Treatments
	in := information{n: n, cols: n - 1, z: effectsOf(d.Effects)}
	if d.Effects != nil {
		in.cols = len(in.z)
	}
	k := in.cols
	in.c = make([]float64, n*n)
	in.b = make([]float64, n*n)
	in.reduced = make([]float64, k*k)
	in.inverse = make([]float64, k*k)
	in.cz = make([]float64, n)
	in.diagonal = make([]float64, k)
	for i := range in.work {
		in.work[i] = make([]float64, k)
	}
	return in
}

// effectsOf returns an orthonormal basis of the columns of effects without the
// general mean, by columns; nil for nil.
func effectsOf(effects [][]float64) [][]float64 {
	if effects == nil {
		return nil
	}
	mean := make([]float64, len(effects))
	for t := range mean {
		mean[t] = 1
	}
	space := extend(nil, mean)
	column := make([]float64, len(effects))
	for j := range effects[0] {
		for t := range column {
			column[t] = effects[t][j]
		}
		space = extend(space, column)
	}
	return space[1:]
}

// invert sets b and rank from c, given the runs of each treatment.
func (in *information) invert(runs []float64) {
	in.reduce()
	copy(in.inverse, in.reduced)
	for j := range in.diagonal {
		if in.z == nil {
			in.diagonal[j] = runs[j]
			continue
		}
		in.diagonal[j] = 0
		for t, v := range in.z[j] {
			in.diagonal[j] += runs[t] * v * v
		}
	}
	in.rank = sweep(in.inverse, in.diagonal)
	in.spread()
}

// reduce sets reduced to Z'CZ.
func (in *information) reduce() {
	n, k := in.n, in.cols
	if in.z == nil {
		for i := range k {
			copy(in.reduced[i*k:i*k+k], in.c[i*n:i*n+k])
		}
		return
	}
	for i, zi := range in.z {
		multiply(in.cz, in.c, zi)
		for j, zj := range in.z {
			in.reduced[i*k+j] = dot(in.cz, zj)
		}
	}
}

// spread sets b to Z·inverse·Z'.
func (in *information) spread() {
	n, k := in.n, in.cols
	if in.z == nil {
		for i := range k {
			copy(in.b[i*n:i*n+k], in.inverse[i*k:i*k+k])
		}
		return
	}
	clear(in.b)
	for i, zi := range in.z {
		clear(in.cz)
		for j, zj := range in.z {
			w := in.inverse[i*k+j]
			for t, v := range zj {
				in.cz[t] += w * v
			}
		}
		for s, v := range zi {
			row := in.b[s*n : s*n+n]
			for t, w := range in.cz {
				row[t] += v * w
			}
		}
	}
}

// sweep replaces a positive semidefinite matrix, given by rows, by a generalised
// inverse, and returns its rank. Columns that depend on earlier ones are given
// rows and columns of zero (Goodnight 1979, The American Statistician 33,
// 149–158). scale holds the squared length of each column, of which the part dependent
// counts as nothing.
func sweep(a, scale []float64) (rank int) {
	n := len(scale)
	for k := range n {
		pivot := a[k*n : k*n+n]
		d := pivot[k]
		if !(d > dependent*scale[k]) {
			for i := range n {
				a[i*n+k], pivot[i] = 0, 0
			}
			continue
		}
		rank++
		inv := 1 / d
		for j := range pivot {
			pivot[j] *= inv
		}
		for i := range n {
			if i == k {
				continue
			}
			row := a[i*n : i*n+n]
			f := row[k]
			for j, p := range pivot {
				row[j] -= f * p
			}
			row[k] = -f * inv
		}
		pivot[k] = inv
	}
	return rank
}

// full reports whether the order can estimate every allowed difference between
// treatments.
func (in *information) full() bool { return in.rank == in.cols }

// estimable reports whether the order can estimate a comparison: whether Z'ℓ
// lies in the column space of Z'CZ.
func (in *information) estimable(weights []float64) bool {
	h, w, back := in.work[0], in.work[1], in.work[2]
	for i := range h {
		if in.z == nil {
			h[i] = weights[i]
		} else {
			h[i] = dot(in.z[i], weights)
		}
	}
	multiply(w, in.inverse, h)
	multiply(back, in.reduced, w)
	var size, off float64
	for i := range h {
		size = max(size, math.Abs(h[i]))
		off = max(off, math.Abs(back[i]-h[i]))
	}
	return size > 0 && off <= 1e-6*size
}

// within sets the effects C⁻q of each row q of an orthonormal set of
// comparisons, and the inverse of their covariance matrix q'C⁻q, by rows. It
// returns the rank of that matrix. diagonal, as long as space, is overwritten.
func (in *information) within(space, effects [][]float64, inverse, diagonal []float64) (rank int) {
	n := len(space)
	for i, q := range space {
		multiply(effects[i], in.b, q)
		for j, r := range space[:i+1] {
			v := dot(effects[i], r)
			inverse[i*n+j], inverse[j*n+i] = v, v
		}
		diagonal[i] = inverse[i*n+i]
	}
	return sweep(inverse, diagonal)
}
