package information

import "fairrun/design/internal/dense"

// Variances returns the variances of all pairwise comparisons for the information matrix
// c on the treatments, within the model that basis spans, and their average; nil if one cannot be
// estimated, judged against g, the mean information with blocks alone.
func Variances(c []float64, treatments int, basis []float64, side int, g float64) (variance [][]float64, average float64) {
	info := InBasis(c, treatments, basis, side)
	if basis == nil {
		AddConstant(info, side, g)
	}
	inv := dense.Inverse(info, side, g)
	if inv == nil {
		return nil, 0
	}
	if basis != nil {
		inv = outOfBasis(inv, treatments, basis, side)
	}
	variance = make([][]float64, treatments)
	for i := range variance {
		variance[i] = make([]float64, treatments)
		for j := range variance[i] {
			if i != j {
				v := inv[i*treatments+i] + inv[j*treatments+j] - 2*inv[i*treatments+j]
				variance[i][j] = v
				average += v
			}
		}
	}
	return variance, average / float64(treatments*(treatments-1))
}
