package cost_test

import (
	"fairrun/design"
	"fairrun/design/cost"
	"math"
	"testing"
	"time"
)

// With runs at fixed places and with whole plots, too, the expected time is the mean over all orders.
func TestCostIsTheMeanOverOrdersOfEveryKind(t *testing.T) {
	factors := func(hard bool) []design.Factor {
		return []design.Factor{
			{Name: "prop", Levels: []string{"x", "y"}, Baseline: "x", HardToChange: hard},
			{Name: "weakening", Levels: []string{"0", "1", "2"}, Baseline: "1"},
		}
	}
	chosen := [][]string{{"x", "0"}, {"x", "1"}, {"y", "0"}, {"y", "1"}, {"y", "2"}}
	for _, c := range []struct {
		name  string
		plan  design.Plan
		block func(drawn []int) []int // the whole block; nil: not an order of its kind
	}{
		{"warm-up and reference runs", design.Plan{Factors: factors(false), Chosen: chosen, Order: design.Order{Warmup: 1, Reference: []int{4, 7}}},
			func(d []int) []int { return []int{1, d[0], d[1], 1, d[2], d[3], 1, d[4]} }},
		{"warm-up runs", design.Plan{Factors: factors(false), Chosen: chosen, Order: design.Order{Warmup: 2}},
			func(d []int) []int { return append([]int{1, 1}, d...) }},
		{"reference runs at both ends", design.Plan{Factors: factors(false), Chosen: chosen, Order: design.Order{Reference: []int{1, 7}}},
			func(d []int) []int { return []int{1, d[0], d[1], d[2], d[3], d[4], 1} }},
		{"whole plots", design.Plan{Factors: factors(true), Chosen: chosen},
			func(d []int) []int {
				changes := 0
				for i := range d[1:] {
					if (d[i] < 2) != (d[i+1] < 2) {
						changes++
					}
				}
				if changes != 1 {
					return nil
				}
				return d
			}},
	} {
		c.plan.Block = design.Block{Count: 2, Replicates: 1}
		c.plan.Budget = &design.Budget{Run: 10 * time.Minute, Rest: 3 * time.Minute, Swap: 2 * time.Minute,
			Changeover: []design.Changeover{{Factor: "prop", Time: 4 * time.Minute}, {Factor: "weakening", Time: 90 * time.Second}}}
		var blocks [][]int
		permute([]int{0, 1, 2, 3, 4}, func(order []int) {
			if b := c.block(append([]int(nil), order...)); b != nil {
				blocks = append(blocks, b)
			}
		})
		sum, n := 0.0, 0
		for _, first := range blocks {
			for _, second := range blocks {
				sum += cost.BenchTime(&c.plan, [][]int{first, second}).Seconds()
				n++
			}
		}
		// Cost is rounded to the second.
		if got, want := cost.Of(&c.plan).Time.Seconds(), sum/float64(n); math.Abs(got-want) > 0.5 {
			t.Errorf("%s: Cost %v s, want %v s, the mean of %d orders", c.name, got, want, n)
		}
	}
}

// In incomplete blocks of two whole plots, too: of 2 propellers, with 2 of 3 settings each, one after the other.
func TestCostOfIncompleteWholePlots(t *testing.T) {
	p := design.Plan{
		Factors: []design.Factor{
			{Name: "prop", Levels: []string{"x", "y"}, HardToChange: true},
			{Name: "weakening", Levels: []string{"0", "1", "2"}},
		},
		Interactions: true,
		Block:        design.Block{Count: 2, Runs: 4},
		Budget: &design.Budget{Run: 10 * time.Minute, Rest: 3 * time.Minute, Swap: 2 * time.Minute,
			Changeover: []design.Changeover{{Factor: "prop", Time: 4 * time.Minute}, {Factor: "weakening", Time: 90 * time.Second}}},
	}
	var pairs, blocks [][]int
	permute([]int{0, 1, 2}, func(order []int) { pairs = append(pairs, []int{order[0], order[1]}) })
	for _, a := range pairs {
		for _, b := range pairs {
			blocks = append(blocks, []int{a[0], a[1], 3 + b[0], 3 + b[1]}, []int{3 + a[0], 3 + a[1], b[0], b[1]})
		}
	}
	sum, n := 0.0, 0
	for _, first := range blocks {
		for _, second := range blocks {
			sum += cost.BenchTime(&p, [][]int{first, second}).Seconds()
			n++
		}
	}
	if got, want := cost.Of(&p).Time.Seconds(), sum/float64(n); math.Abs(got-want) > 0.5 {
		t.Errorf("Cost %v s, want %v s, the mean of %d orders", got, want, n)
	}
}
