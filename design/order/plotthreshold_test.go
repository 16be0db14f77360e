package order_test

import (
	"slices"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/screen"
)

// hardFirst returns the plan of a screen of 12 runs whose first factor is hard to change.
func hardFirst(t *testing.T, blocks int) order.Spec {
	levels, err := screen.PlackettBurman(5, 12)
	if err != nil {
		t.Fatal(err)
	}
	p := order.Spec{Treatments: len(levels), Blocks: blocks, Replicates: 1, Drift: order.Linear, Effects: order.MainEffects(levels)}
	for _, row := range levels {
		p.WholePlots = append(p.WholePlots, row[0])
	}
	return p
}

// leads returns in how many blocks setting 1 comes first.
func leads(p order.Spec, blocks [][]int) int {
	n := 0
	for _, block := range blocks {
		n += p.WholePlots[block[0]]
	}
	return n
}

// TestWholePlotsAlongDrift: with two settings the drift of the blocks cancels when half of them run
// either setting first, and then costs their comparison nothing. Of 2 blocks those are the only ones
// kept, of 4 too (8 classes of orders, of which a randomisation test could not tell 1 in 20); of 6
// those with 3 and, since 10 classes are fewer than 20, with 2 and 4 of either.
func TestWholePlotsAlongDrift(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan order.Spec
		want []int
	}{
		{hardFirst(t, 2), []int{1}},
		{hardFirst(t, 4), []int{2}},
		{hardFirst(t, 6), []int{2, 3, 4}},
		{order.Spec{Treatments: 4, Blocks: 4, Replicates: 2, Drift: order.Linear, WholePlots: []int{0, 0, 1, 1}}, []int{2}},
	} {
		seen := map[int]bool{}
		var d *order.Drawn
		var m *order.Sampler
		for i := range 40 {
			seed := uint64(i / 10)
			if i%10 == 0 {
				d = draw(t, c.plan, seed)
				m = set(t, d).Sampler(lot.New(seed, 1<<32))
			} else {
				m.Fill(d.Blocks)
			}
			n := leads(c.plan, d.Blocks)
			seen[n] = true
			if !slices.Contains(c.want, n) {
				t.Errorf("%d blocks, seed %d: setting 1 comes first in %d", c.plan.Blocks, seed, n)
			}
			q, err := order.Assess(c.plan, d.Blocks)
			if err != nil {
				t.Fatal(err)
			}
			// Both settings hold the rest alike: a comparison between them needs no more runs than without drift.
			if x, y := c.plan.WholePlots, q.LinearCorrelation; 2*n == c.plan.Blocks {
				var sum float64
				for i, r := range y {
					sum += r * float64(2*x[i]-1)
				}
				if sum > 1e-9 || sum < -1e-9 {
					t.Errorf("%d blocks, seed %d: correlation of the settings with drift adds up to %v", c.plan.Blocks, seed, sum)
				}
			}
		}
		if len(seen) != len(c.want) {
			t.Errorf("%d blocks: setting 1 came first %v times, want %v", c.plan.Blocks, seen, c.want)
		}
	}
}

// TestWholePlotsSet: draws for a randomisation test keep the same rule, and records made before there
// was a threshold of whole plots keep theirs.
func TestWholePlotsSet(t *testing.T) {
	t.Parallel()
	p := hardFirst(t, 4)
	d := draw(t, p, 1)
	m := set(t, d).Sampler(lot.New(1, 1<<32))
	again := draw(t, p, 1)
	for range 200 {
		m.Fill(again.Blocks)
		if n := leads(p, again.Blocks); n != 2 {
			t.Fatalf("a fresh order has setting 1 first in %d of 4 blocks", n)
		}
		if err := set(t, d).Allows(again.Blocks); err != nil {
			t.Fatal(err)
		}
	}
	d.PlotThreshold = nil
	d.Threshold = 10
	m = set(t, d).Sampler(lot.New(1, 1<<32))
	seen := map[int]bool{}
	for range 200 {
		m.Fill(again.Blocks)
		seen[leads(p, again.Blocks)] = true
	}
	if len(seen) != 5 {
		t.Errorf("without a threshold of whole plots setting 1 comes first in %v of 4 blocks", seen)
	}
	longer, err := order.Extend(draw(t, p, 1), 2, 2)
	if err != nil {
		t.Fatal(err)
	}
	if n := leads(p, longer.Blocks); n != 3 {
		t.Errorf("extended from 4 to 6 blocks, setting 1 comes first in %d", n)
	}
}
