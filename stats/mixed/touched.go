package mixed

import "gonum.org/v1/gonum/mat"

// untouched is how small the sums of a column over the levels of the random factors must be, of the
// largest, for it to count as having none.
const untouched = 1e-12

// mostTouched bounds the work of looking for such columns.
const mostTouched = 50_000_000

// touched returns an orthonormal basis of the part of the fixed columns that what is random
// touches. The rest are columns x whose sums over the levels of every random factor are zero, as treatments have
// that are complete in each block: H x = x whatever the components are. With the response free of the
// fixed part they change nothing that the search looks at but the degrees of freedom, however many they are.
func touched(q [][]float64, random []grouping) [][]float64 {
	p, levels := len(q), 0
	for i := range random {
		levels += len(random[i].count)
	}
	if p < 2 || levels*p*p > mostTouched {
		return q
	}
	sums := mat.NewDense(max(levels, p), p, nil)
	from := 0
	for i := range random {
		for k, x := range q {
			for row, l := range random[i].code {
				sums.Set(from+int(l), k, sums.At(from+int(l), k)+x[row])
			}
		}
		from += len(random[i].count)
	}
	var svd mat.SVD
	if !svd.Factorize(sums, mat.SVDThin) {
		return q
	}
	size := svd.Values(nil)
	rank := 0
	for rank < p && size[rank] > untouched*size[0] {
		rank++
	}
	if rank == p {
		return q
	}
	var v mat.Dense
	svd.VTo(&v)
	out := make([][]float64, rank)
	for j := range out {
		out[j] = make([]float64, len(q[0]))
		for k, x := range q {
			w := v.At(k, j)
			for row, value := range x {
				out[j][row] += w * value
			}
		}
	}
	return out
}
