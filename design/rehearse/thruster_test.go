package rehearse

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func thrusterBlocks() [][]int {
	blocks := make([][]int, 4)
	for b := range blocks {
		for t := range 4 {
			blocks[b] = append(blocks[b], t, t)
		}
	}
	return blocks
}

// The plan of the demonstration and its bench are about the same treatments and responses.
func TestThrusterFitsItsPlan(t *testing.T) {
	t.Parallel()
	c, bench := read(t, ThrusterPlan), Thruster()
	if len(bench.Loads) != len(c.Treatments()) || len(bench.Responses) != len(c.Responses) {
		t.Fatalf("%d loads and %d responses for %d treatments and %d responses of the plan", len(bench.Loads), len(bench.Responses), len(c.Treatments()), len(c.Responses))
	}
	for i, r := range bench.Responses {
		if len(r.Ratio) != len(bench.Loads) {
			t.Errorf("response %s has %d ratios, want %d", c.Responses[i].Name, len(r.Ratio), len(bench.Loads))
		}
	}
}

func TestDoIsRepeatable(t *testing.T) {
	t.Parallel()
	blocks := thrusterBlocks()
	a, b := Thruster().Do(blocks, ThrusterSeed), Thruster().Do(blocks, ThrusterSeed)
	if diff := cmp.Diff(a, b); diff != "" {
		t.Errorf("the same seed gives other runs:\n%s", diff)
	}
	if c := Thruster().Do(blocks, ThrusterSeed+1); cmp.Equal(a, c) {
		t.Error("another seed gives the same runs")
	}
	for i := range a {
		if len(a[i]) != len(blocks[i]) {
			t.Errorf("block %d has %d runs, want %d", i+1, len(a[i]), len(blocks[i]))
		}
	}
}

// Heat builds up and the pack sags from the first run of a block to the last.
func TestDoDrifts(t *testing.T) {
	t.Parallel()
	c := Thruster()
	for i := range c.Responses {
		c.Responses[i].Noise = 0
	}
	for _, block := range c.Do(thrusterBlocks(), 1) {
		for i := range block[1:] {
			if block[i+1].StartTemp <= block[i].StartTemp || block[i+1].StartVolts >= block[i].StartVolts {
				t.Errorf("run %d starts at %.1f °C and %.2f V after %.1f °C and %.2f V", i+2, block[i+1].StartTemp, block[i+1].StartVolts, block[i].StartTemp, block[i].StartVolts)
			}
		}
		// Two runs of one level in a row differ by drift alone: lower voltage and warmer copper spin up more slowly.
		if block[1].Values[0] <= block[0].Values[0] {
			t.Errorf("spin-up went from %.2f to %.2f ms as the bench got worse", block[0].Values[0], block[1].Values[0])
		}
	}
}

func TestDoFailsAndStrays(t *testing.T) {
	t.Parallel()
	c := Thruster()
	c.Failing = 0.25
	c.Responses = c.Responses[:1]
	blocks := make([][]int, 250)
	for b := range blocks {
		blocks[b] = slices.Repeat([]int{0}, 16)
	}
	failed := 0
	for _, block := range c.Do(blocks, 5) {
		for _, r := range block {
			if r.Failed != (r.Values == nil) {
				t.Fatalf("a run with failed = %v has the values %v", r.Failed, r.Values)
			}
			if r.Failed {
				failed++
			}
		}
	}
	// Binomial: 4000 · ¼ = 1000 ± 27.4; five standard deviations.
	if math.Abs(float64(failed)-1000) > 137 {
		t.Errorf("%d of 4000 runs failed, want about 1000", failed)
	}
	// Noise of 0.01, tenfold in a fifth of the runs: variance 0.01² · (0.8 + 0.2·100).
	c = &Simulator{Bench: Bench{WindingTau: 1, RunTime: 1, Pack: Pack{Full: 1, Empty: 1, Capacity: 1}},
		Loads: []Load{{}}, Responses: []Response{{Base: 1, Ratio: []float64{1}, Nominal: 1, Noise: 0.01}}, Outlying: 0.2, OutlierSize: 10}
	var sum float64
	for _, block := range c.Do(blocks, 6) {
		for _, r := range block {
			sum += math.Log(r.Values[0]) * math.Log(r.Values[0])
		}
	}
	// Fourth moment 3·0.01⁴·(0.8 + 0.2·10⁴): the mean square has a relative standard deviation of 5.8 %; four of them.
	if got, want := sum/4000, 1e-4*20.8; math.Abs(got-want) > 0.23*want {
		t.Errorf("variance with outliers %v, want about %v", got, want)
	}
}
