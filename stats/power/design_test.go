package power

import (
	"math"
	"testing"

	"fairrun/stats/compare"
)

// Degrees of freedom and standard errors counted by hand.
func TestDesignPrecision(t *testing.T) {
	for _, tt := range []struct {
		name string
		d    Design
		runs int
		want Precision
	}{
		{"two replicates of 4 in 4 packs, shared linear drift: 32 − 4 − 3 − 1",
			Design{Treatments: 4, Blocks: 4, Replicates: 2, Drift: 1}, 32, Precision{SE: 0.5, DF: 24}},
		{"each pack with its own drift: 32 − 4 − 3 − 4",
			Design{Treatments: 4, Blocks: 4, Replicates: 2, OwnDrift: 1}, 32, Precision{SE: 0.5, DF: 21}},
		{"drift costs a fifth of the information: √(2 / (8 · 0.8))",
			Design{Treatments: 4, Blocks: 4, Replicates: 2, Drift: 1, Efficiency: 0.8}, 32, Precision{SE: math.Sqrt(0.3125), DF: 24}},
		{"main effects of a 4 × 2 factorial, the factor with 4 levels: 8 runs a level, 32 − 4 − (3 + 1)",
			Design{Treatments: 8, Blocks: 4, Replicates: 1, Compared: 4, Terms: 4}, 32, Precision{SE: 0.5, DF: 24}},
		{"incomplete blocks of 3 of 4 treatments, 8 of them, efficiency 8/9: 6 runs each, 24 − 8 − 3",
			Design{Treatments: 4, Blocks: 8, RunsPerBlock: 3, Efficiency: 8. / 9}, 24, Precision{SE: math.Sqrt(0.375), DF: 13}},
		{"one run of each: nothing left",
			Design{Treatments: 3, Blocks: 1, Replicates: 1}, 3, Precision{SE: math.Sqrt2, DF: 0}},
	} {
		got := tt.d.Precision()
		if tt.d.Runs() != tt.runs || got.DF != tt.want.DF || !near(got.SE, tt.want.SE, 1e-15) {
			t.Errorf("%s: %d runs, %+v, want %d, %+v", tt.name, tt.d.Runs(), got, tt.runs, tt.want)
		}
	}
}

// Blocks added one after the other offer what they offer planned at once.
func TestGrowthsAgree(t *testing.T) {
	for _, d := range []Design{
		{Treatments: 4, Blocks: 3, Replicates: 2, Drift: 1},
		{Treatments: 8, Blocks: 2, Replicates: 1, Compared: 2, Terms: 4, OwnDrift: 1, Efficiency: 0.9},
		{Treatments: 4, Blocks: 4, RunsPerBlock: 3, Efficiency: 8. / 9},
	} {
		now := d.Precision()
		for more := range 4 {
			want := d.ByBlocks().At(d.Blocks + more)
			got := d.MoreBlocks(now).At(more)
			if got.DF != want.DF || !near(got.SE, want.SE, 1e-14) {
				t.Errorf("%+v and %d more: %+v, want %+v", d, more, got, want)
			}
		}
	}
	d := groups(3, 4)
	for more := range 4 {
		want := d.ByReplicates().At(4 + more)
		got := d.MoreReplicates(d.Precision()).At(more)
		if got.DF != want.DF || !near(got.SE, want.SE, 1e-14) {
			t.Errorf("%d more replicates: %+v, want %+v", more, got, want)
		}
	}
}

// A level without runs so far has no standard error, and gets one.
func TestMoreBlocksFromNothing(t *testing.T) {
	d := groups(4, 2)
	g := d.MoreBlocks(Precision{SE: math.Inf(1), DF: -3})
	if got := g.At(0); !math.IsInf(got.SE, 1) {
		t.Errorf("without a block SE = %v, want +Inf", got.SE)
	}
	if got := g.At(2); got.DF != 11 || !near(got.SE, math.Sqrt(0.5), 1e-15) {
		t.Errorf("after 2 blocks %+v, want SE √½ and 11 df", got)
	}
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	a, err := c.Needed(Target{Margin: 3, Noise: Scatter{SD: 1}, Power: 0.9}, g, 50)
	if err != nil || a.N < 1 {
		t.Errorf("Needed = %+v, %v", a, err)
	}
}
