//go:build slow

package mixed

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// splitPlot returns a model of blocks with two whole plots each (factor A) of three
// runs (factor B), some runs lost, and a function that fills a response without
// effects.
func splitPlot(blocks int, lost func(i int) bool, sdBlock, sdPlot float64) (Model, func(*rand.Rand) []float64) {
	var block, plot, a, b []int32
	for i := range blocks * 6 {
		if lost(i) {
			continue
		}
		block, plot = append(block, int32(i/6)), append(plot, int32(i/3))
		a, b = append(a, int32(i/3%2)), append(b, int32(i%3))
	}
	m := Model{Fixed: linmod.Model{Factors: []linmod.Factor{levels("A", 2, a), levels("B", 3, b)}, Order: 1},
		Random: []linmod.Factor{levels("block", blocks, block), levels("plot", 2*blocks, plot)}}
	return m, func(rng *rand.Rand) []float64 {
		eb, ep := make([]float64, blocks), make([]float64, 2*blocks)
		for i := range eb {
			eb[i] = sdBlock * rng.NormFloat64()
		}
		for i := range ep {
			ep[i] = sdPlot * rng.NormFloat64()
		}
		y := make([]float64, len(block))
		for i := range y {
			y[i] = eb[block[i]] + ep[plot[i]] + rng.NormFloat64()
		}
		return y
	}
}

// With as few as three blocks the tests of whole plots and of runs within them keep
// the 5 % they promise, and intervals of differences the 95 %, within Monte-Carlo
// error; where the plots do not differ the whole-plot test may be cautious, not
// bold.
func TestFewSpecimens(t *testing.T) {
	const campaigns = 4000
	mc := 4 * math.Sqrt(0.05*0.95/campaigns)
	for _, test := range []struct {
		name   string
		blocks int
		lost   func(i int) bool
		sdPlot float64
	}{
		{"complete, 3 blocks", 3, func(int) bool { return false }, 1.5},
		{"complete, 5 blocks", 5, func(int) bool { return false }, 0.5},
		{"complete, plots alike", 5, func(int) bool { return false }, 0},
		{"runs lost, 4 blocks", 4, func(i int) bool { return i%7 == 3 }, 1.5},
		{"runs lost, 6 blocks", 6, func(i int) bool { return i%5 == 2 }, 0.5},
		{"runs lost, plots alike", 6, func(i int) bool { return i%5 == 2 }, 0},
	} {
		m, draw := splitPlot(test.blocks, test.lost, 1, test.sdPlot)
		rng := rand.New(rand.NewPCG(11, uint64(test.blocks)))
		alarm := make([]float64, 2)
		var miss, missBlock, missRun float64
		n := 0.0
		for range campaigns {
			r, err := Fit(m, draw(rng))
			if err != nil {
				t.Fatalf("%s: %v", test.name, err)
			}
			n++
			for i, row := range r.ANOVA() {
				if row.P < 0.05 {
					alarm[i]++
				}
			}
			means, err := r.Means(0)
			if err != nil {
				t.Fatal(err)
			}
			e := means.Contrasts([][]float64{{1, -1}})
			if math.Abs(e.Value[0]) > e.SE(0)*(law.T{DF: e.DF[0]}).UpperQuantile(0.025) {
				miss++
			}
			limits, err := r.Intervals(0.95)
			if err != nil {
				t.Fatal(err)
			}
			if l := limits[0]; 1 < l.Low || 1 > l.High {
				missBlock++
			}
			if l := limits[2]; 1 < l.Low || 1 > l.High {
				missRun++
			}
		}
		t.Logf("%s: false alarms A %.4f, B %.4f; intervals miss: difference %.4f, sd of blocks %.4f, of runs %.4f",
			test.name, alarm[0]/n, alarm[1]/n, miss/n, missBlock/n, missRun/n)
		for i, rate := range []float64{alarm[0] / n, alarm[1] / n, miss / n} {
			if rate > 0.05+mc {
				t.Errorf("%s: rate %d is %.4f, promised 0.05", test.name, i, rate)
			}
		}
	}
}
