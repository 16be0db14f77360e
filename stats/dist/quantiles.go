package dist

import (
	"encoding/binary"
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// quantiles keeps the quantiles of laws without product structure that were asked for last:
// responses measured on the same runs ask for the same ones.
var quantiles = struct {
	sync.Mutex
	of map[string][2]float64 // x and its bound
}{of: map[string][2]float64{}}

const quantilesKept = 256

// corrGrid is the inverse of a difference between correlations that no estimate shows.
const corrGrid = 1 << 40

// rounded returns the matrix with correlations rounded to the grid, so that matrices which differ
// by the rounding of their making have the same answer, and its elements as a key.
func rounded(corr mat.Symmetric) (*mat.SymDense, []byte) {
	n := corr.SymmetricDim()
	out := mat.NewSymDense(n, nil)
	key := make([]byte, 0, 4*n*(n+1))
	for i := range n {
		for j := range i {
			r := math.Round(corr.At(i, j)*corrGrid) / corrGrid
			out.SetSym(i, j, r)
			key = binary.LittleEndian.AppendUint64(key, math.Float64bits(r))
		}
		out.SetSym(i, i, 1)
	}
	return out, key
}

// keptQuantile returns the quantile from those kept, or makes it.
func keptQuantile(corr mat.Symmetric, df, p float64, twoSided bool, start float64) (x, bound float64) {
	grid, key := rounded(corr)
	for _, v := range []float64{df, p} {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(v))
	}
	if twoSided {
		key = append(key, 2)
	}
	quantiles.Lock()
	kept, ok := quantiles.of[string(key)]
	quantiles.Unlock()
	if ok {
		return kept[0], kept[1]
	}
	x, bound = newUnion(grid, twoSided).quantile(df, p, start)
	quantiles.Lock()
	defer quantiles.Unlock()
	if len(quantiles.of) >= quantilesKept {
		clear(quantiles.of)
	}
	quantiles.of[string(key)] = [2]float64{x, bound}
	return x, bound
}
