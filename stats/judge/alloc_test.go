package judge

import (
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/power"
)

// Once its memory has grown, a fit of another order and the words of all its comparisons take no more.
func TestHotLoopAllocatesNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	m := &Model{Blocks: 3, Length: 12, Drift: []Drift{{Value: make([]float64, 36)}}, Noted: [][]float64{make([]float64, 36)}, Factors: []Factor{{Levels: 4, Code: []int{0, 1, 2, 3}, Baseline: 0}}}
	treatment, good, y := make([]int, 36), make([]bool, 36), make([]float64, 36)
	for s := range y {
		m.Drift[0].Value[s], m.Noted[0][s] = float64(s%12), rng.NormFloat64()
		treatment[s], good[s], y[s] = s%4, s != 7, rng.NormFloat64()
	}
	for _, kind := range []compare.Kind{compare.KindPairs, compare.KindBaseline, compare.KindBest} {
		for name, look := range map[string]*power.Interim{"one look": nil, "the first of two": {Fractions: []float64{0.5}, DF: 60}} {
			c, fit, out := NewCriticals(kind, 0.05, look), NewLeastSquares(m), NewEstimates(m)
			q, r := &Question{Margin: 1}, &Reading{}
			r.By(c)
			allocated := testing.AllocsPerRun(50, func() {
				if !fit.Order(treatment, good) {
					t.Fatal("columns depend")
				}
				fit.Solve(y, out)
				r.Turn(q, &m.Factors[0], fit.Precision(0), &out[0])
				r.Standing()
				r.Differs()
				r.Comparison(1, 0)
			})
			if allocated > 0 {
				t.Errorf("%s, %s: %v allocations", kind, name, allocated)
			}
		}
	}
}
