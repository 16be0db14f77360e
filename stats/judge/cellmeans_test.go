package judge

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
)

// TestCellMeansHoldTheirLevel simulates campaigns whose blocks answer treatments differently, by s of the noise: all pairs of four
// treatments raise false alarms in 5 %, whatever s and the layout, and find a difference of 2 as often as computed apart
// from this project, in numpy (docs/honesty.md).
func TestCellMeansHoldTheirLevel(t *testing.T) {
	t.Parallel()
	const n, treatments = 40000, 4
	for _, c := range []struct {
		blocks, runs int
		s            float64
		lost         float64
		found        float64 // NaN: not known
	}{
		{8, 1, 0, 0, 0.8739}, {8, 1, 0.5, 0, 0.7757}, {8, 1, 1, 0, 0.5278},
		{4, 2, 0, 0, 0.7833}, {4, 2, 0.5, 0, 0.5769}, {4, 2, 1, 0, 0.2800},
		{2, 4, 0, 0, 0.4401}, {2, 4, 0.5, 0, 0.2328}, {2, 4, 1, 0, 0.0988},
		{4, 2, 0.5, 0.2, math.NaN()}, {4, 4, 2, 0.2, math.NaN()},
	} {
		m := &Model{Blocks: c.blocks, Length: treatments * c.runs, Factors: []Factor{{Levels: treatments, Code: []int{0, 1, 2, 3}, Baseline: -1}}}
		rng := rand.New(rand.NewPCG(uint64(c.blocks), math.Float64bits(c.s)))
		treatment, good, y := make([]int, m.slots()), make([]bool, m.slots()), make([]float64, m.slots())
		cells, plain, out := NewCellMeans(m, treatments), NewLeastSquares(m), NewEstimates(m)
		crit := NewCriticals(compare.KindPairs, 0.05, nil)
		q := &Question{Centre: 0, Margin: math.NaN()}
		alarms, found, judged := 0, 0, 0
		for range n {
			for b := range c.blocks {
				of := rng.Perm(m.Length)
				answer := [treatments]float64{}
				for k := range answer {
					answer[k] = c.s * rng.NormFloat64()
				}
				for i, p := range of {
					s := b*m.Length + i
					treatment[s] = p % treatments
					good[s] = rng.Float64() >= c.lost
					y[s] = float64(b) + answer[treatment[s]] + rng.NormFloat64()
				}
			}
			var f Fitted = plain
			if cells.Repeats(treatment, good) {
				if !cells.Order(treatment, good) {
					continue
				}
				f = cells
			} else if !plain.Order(treatment, good) {
				continue
			}
			judged++
			f.Solve(y, out)
			var r Reading
			r.By(crit)
			r.Turn(q, &m.Factors[0], f.Precision(0), &out[0])
			if r.Differs() {
				alarms++
			}
			out[0].Shift(0, 2)
			if i := r.Comparison(0, 1); i.Low > 0 {
				found++
			}
		}
		p := func(x int) float64 { return float64(x) / float64(judged) }
		t.Logf("%d × %d, s %g, %g %% lost: false alarms %.2f %%, found %.2f %% of %d", c.blocks, c.runs, c.s, 100*c.lost, 100*p(alarms), 100*p(found), judged)
		if error := 3.5 * math.Sqrt(0.05*0.95/float64(judged)); math.Abs(p(alarms)-0.05) > error {
			t.Errorf("%+v: false alarms %.4f, want 0.05 ± %.4f", c, p(alarms), error)
		}
		if error := 3.5*math.Sqrt(c.found*(1-c.found)/float64(judged)) + 0.004; math.Abs(p(found)-c.found) > error {
			t.Errorf("%+v: found %.4f, want %.4f ± %.4f", c, p(found), c.found, error)
		}
	}
}
