package information

import (
	"math"

	"fairrun/design/internal/dense"
)

// Basis returns an orthonormal basis of the comparisons within a model of effects, which holds a row
// for each treatment: T×side by rows; nil and T where effects is nil, since all comparisons count.
func Basis(treatments int, effects [][]float64) (basis []float64, side int) {
	if effects == nil {
		return nil, treatments
	}
	t := treatments
	var columns [][]float64
	for j := range effects[0] {
		z := make([]float64, t)
		var mean float64
		for _, row := range effects {
			mean += row[j] / float64(t)
		}
		for i, row := range effects {
			z[i] = row[j] - mean
		}
		before := dense.Dot(z, z)
		for range 2 {
			for _, y := range columns {
				f := dense.Dot(z, y)
				for i := range z {
					z[i] -= float64(f * y[i])
				}
			}
		}
		if after := dense.Dot(z, z); after > dense.RankTolerance*before {
			for i := range z {
				z[i] /= math.Sqrt(after)
			}
			columns = append(columns, z)
		}
	}
	side = len(columns)
	basis = make([]float64, t*side)
	for j, z := range columns {
		for i, v := range z {
			basis[i*side+j] = v
		}
	}
	return basis, side
}

// InBasis returns basisᵀ·c·basis.
func InBasis(c []float64, treatments int, basis []float64, side int) []float64 {
	if basis == nil {
		return append([]float64(nil), c...)
	}
	half := make([]float64, treatments*side)
	for i := range treatments {
		for j := range side {
			var v float64
			for k := range treatments {
				v += float64(c[i*treatments+k] * basis[k*side+j])
			}
			half[i*side+j] = v
		}
	}
	out := make([]float64, side*side)
	for i := range side {
		for j := range side {
			var v float64
			for k := range treatments {
				v += float64(basis[k*side+i] * half[k*side+j])
			}
			out[i*side+j] = v
		}
	}
	return out
}

// outOfBasis returns basis·v·basisᵀ.
func outOfBasis(v []float64, treatments int, basis []float64, side int) []float64 {
	half := make([]float64, treatments*side)
	for i := range treatments {
		for j := range side {
			half[i*side+j] = dense.Dot(basis[i*side:(i+1)*side], v[j*side:(j+1)*side])
		}
	}
	out := make([]float64, treatments*treatments)
	for i := range treatments {
		for j := range treatments {
			out[i*treatments+j] = dense.Dot(half[i*side:(i+1)*side], basis[j*side:(j+1)*side])
		}
	}
	return out
}
