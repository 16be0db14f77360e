package judge

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// TestBalancedCriticals has the table of balanced campaigns agree with the law of each, with a drift within whole plots.
func TestBalancedCriticals(t *testing.T) {
	for _, c := range []struct {
		hard, easy, packs, runs int
	}{
		{2, 3, 4, 2},
		{2, 5, 3, 1},
		{3, 2, 5, 2},
	} {
		rng := rand.New(rand.NewPCG(4, 4))
		worst := 0.0
		for range 40 {
			levels := c.hard * c.easy
			treatment, pack := linmod.Factor{Name: "t", Levels: make([]string, levels)}, linmod.Factor{Name: "pack", Levels: make([]string, c.packs)}
			plot := linmod.Factor{Name: "plot", Levels: make([]string, c.packs*c.hard)}
			drift := linmod.Covariate{Name: "position"}
			var y []float64
			good := make([]bool, 0)
			for b := range c.packs {
				for h, setting := range rng.Perm(c.hard) {
					w := rng.NormFloat64()
					for i, run := range rng.Perm(c.easy * c.runs) {
						v := w + rng.NormFloat64()
						y, good = append(y, v), append(good, true)
						treatment.Code = append(treatment.Code, int32(setting*c.easy+run%c.easy))
						pack.Code, plot.Code = append(pack.Code, int32(b)), append(plot.Code, int32(b*c.hard+h))
						drift.Value = append(drift.Value, float64(i))
					}
				}
			}
			m := &Model{Factors: []Factor{{Levels: levels, Baseline: -1}}}
			g := NewGeneral(linmod.Model{Blocks: []linmod.Factor{pack}, Covariates: []linmod.Covariate{drift}, Factors: []linmod.Factor{treatment}, Order: 1},
				nil, nil, []linmod.Factor{plot}, nil, good)
			g.Solve(y, NewEstimates(m))
			p := g.Precision(0)
			if p.plots == nil {
				t.Fatalf("%v: the comparisons are not in two strata", c)
			}
			if !p.plots.Strata().Alike() {
				t.Fatalf("%v: whole plots are not alike", c)
			}
			got := NewCriticals(compare.KindPairs, 0.05, nil).balanced(p, -1)
			want := p.plots.Law(contrasts(p.live, -1, p.Estimable, p.plots.Contrast), false, law.PivotPoints).Critical(0.05)
			for in := range got {
				worst = max(worst, math.Abs(got[in]/want[in]-1))
			}
		}
		if t.Logf("%v: off by %.4f at the most", c, worst); worst > 0.02 {
			t.Errorf("%v: critical values are off by %.4f", c, worst)
		}
	}
}
