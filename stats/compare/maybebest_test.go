package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Bounds decide as the intervals themselves do, at and between the critical values of one comparison and of all.
func TestMayBeBest(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	asked := [2]int{}
	for range 40 {
		k := 2 + rng.IntN(5)
		cov := mat.NewSymDense(k, nil)
		mean := make([]float64, k)
		for i := range k {
			cov.SetSym(i, i, 0.5+rng.Float64())
			mean[i] = 1.5 * rng.NormFloat64()
		}
		df := []float64{4, 20}[rng.IntN(2)]
		may := MayBeBest(mean, cov, df, 0.05)
		for i, b := range WithBest(mean, cov, df, 0.05) {
			if may[i] != (b.High > 0) {
				t.Errorf("means %v: level %d may be the best: %v, its interval ends at %v", mean, i, may[i], b.High)
			}
			if may[i] {
				asked[1]++
			} else {
				asked[0]++
			}
		}
	}
	if math.Min(float64(asked[0]), float64(asked[1])) < 20 {
		t.Errorf("levels decided either way: %v", asked)
	}
}
