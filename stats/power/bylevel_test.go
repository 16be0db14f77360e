package power

import (
	"math"
	"testing"

	"fairrun/stats/compare"
)

// Levels with a noise of their own pay with degrees of freedom. The shares found were measured over 3,000 campaigns by the verdict
// itself (± 0.9), see its slow test.
func TestByLevel(t *testing.T) {
	for _, c := range []struct {
		design Design
		law    compare.Family
		df     float64
		found  float64
	}{
		{Design{Treatments: 4, Blocks: 8, Replicates: 1, Sample: true, ByLevel: true}, compare.Slices{Family: compare.Single{}, Count: 6}, 7, 0.643},
		{Design{Treatments: 4, Blocks: 4, Replicates: 2, Sample: true, ByLevel: true}, compare.Slices{Family: compare.Single{}, Count: 6}, 3, 0.272},
		{Design{Treatments: 4, Blocks: 4, Replicates: 2, ByLevel: true}, compare.Pairs{Levels: 4}, 20.0 / 3, 0.72},
	} {
		p := c.design.Precision()
		if math.Abs(p.DF-c.df) > 1e-12 {
			t.Errorf("%+v: %v degrees of freedom, want %v", c.design, p.DF, c.df)
		}
		a, err := Test{Family: c.law, Alpha: 0.05}.Reach(Target{Margin: 2, Noise: Scatter{SD: 1}, Power: 0.9}, p)
		if err != nil || math.Abs(a.Power-c.found) > 0.03 {
			t.Errorf("%+v: finds it with a chance of %.3f, measured %.3f (%v)", c.design, a.Power, c.found, err)
		}
		more := c.design.MoreBlocks(p).At(2)
		larger := c.design
		larger.Blocks += 2
		if want := larger.Precision(); math.Abs(more.DF-want.DF) > 1e-9 || math.Abs(more.SE-want.SE) > 1e-12 {
			t.Errorf("%+v: two more blocks give %+v, want %+v", c.design, more, want)
		}
	}
	if p := (Design{Treatments: 4, Blocks: 1, Replicates: 1, ByLevel: true}).Precision(); p.DF != 0 {
		t.Errorf("one block: %v degrees of freedom", p.DF)
	}
}
