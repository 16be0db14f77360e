package cost_test

import (
	"math"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/cost"

	"github.com/google/go-cmp/cmp"
)

// 4 packs of the 2 × 2 treatments, run once each: 16 runs of 40 s. Of the 12 ordered pairs of
// different treatments 4 change the prop alone, 4 the current alone and 4 both, so that the 12
// pauses within packs are max(3 min, 4 min), max(3 min, 10 s) and max(3 min, 4 min 10 s) by thirds:
// 220+10/3 s on average, 2680 s in all. Of the 16 ordered pairs across packs 4 change nothing and 4
// each of the three: with the swap of 6 min the 3 pauses are 360, 600, 370 and 610 s by quarters:
// 485 s on average, 1455 s in all. Together 640 + 2680 + 1455 = 4775 s.
func TestCostByHand(t *testing.T) {
	c := &design.Plan{
		Factors: []design.Factor{{Name: "weakening", Levels: []string{"0", "8"}}, {Name: "prop", Levels: []string{"A", "B"}}},
		Block:   design.Block{Name: "pack", Count: 4, Replicates: 1},
		Budget: &design.Budget{
			Supply:     &design.Supply{Capacity: 5, Unit: "Ah", Usable: 0.8, PerRun: 0.5},
			Run:        40 * time.Second,
			Rest:       3 * time.Minute,
			Swap:       6 * time.Minute,
			Changeover: []design.Changeover{{Factor: "weakening", Time: 10 * time.Second}, {Factor: "prop", Time: 4 * time.Minute}},
		},
	}
	want := cost.Cost{Runs: 16, Blocks: 4, Lasts: 8, Time: 4775 * time.Second}
	if diff := cmp.Diff(want, cost.Of(c)); diff != "" {
		t.Errorf("Cost (-want +got):\n%s", diff)
	}
	c.Budget = nil
	if diff := cmp.Diff(cost.Cost{Runs: 16, Blocks: 4}, cost.Of(c)); diff != "" {
		t.Errorf("Cost without a budget (-want +got):\n%s", diff)
	}
}

// The expected time is the mean over all orders, each walked through by BenchTime.
func TestCostIsTheMeanOverOrders(t *testing.T) {
	factors := []design.Factor{{Name: "a", Levels: []string{"0", "1"}}, {Name: "b", Levels: []string{"x", "y"}}}
	a, b := design.Changeover{Factor: "a", Time: 4 * time.Minute}, design.Changeover{Factor: "b", Time: 90 * time.Second}
	for _, c := range []struct {
		name    string
		plan    design.Plan
		changes []design.Changeover
		blocks  [][]int // the runs of a block, in each way its treatments may be chosen
	}{
		{"complete", design.Plan{Factors: factors[:1], Block: design.Block{Count: 2, Replicates: 2}},
			[]design.Changeover{a}, [][]int{{0, 0, 1, 1}}},
		{"three of four treatments", design.Plan{Factors: factors, Chosen: [][]string{{"0", "x"}, {"1", "x"}, {"1", "y"}}, Block: design.Block{Count: 2, Replicates: 1}},
			[]design.Changeover{b, a}, [][]int{{0, 1, 2}}},
		{"incomplete", design.Plan{Factors: factors, Block: design.Block{Count: 2, Runs: 2}},
			[]design.Changeover{a, b}, [][]int{{0, 1}, {0, 2}, {0, 3}, {1, 2}, {1, 3}, {2, 3}}},
		{"nothing takes time to change", design.Plan{Factors: factors, Block: design.Block{Count: 2, Replicates: 1}},
			nil, [][]int{{0, 1, 2, 3}}},
	} {
		c.plan.Budget = &design.Budget{Run: 10 * time.Minute, Rest: 3 * time.Minute, Swap: 2 * time.Minute, Changeover: c.changes}
		var orders [][]int
		for _, runs := range c.blocks {
			permute(runs, func(order []int) { orders = append(orders, append([]int(nil), order...)) })
		}
		sum, n := 0.0, 0
		for _, first := range orders {
			for _, second := range orders {
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

// 7 packs of 2 runs, 3 to a day: days of 3, 3 and 1 packs. A run takes 10 min, the rest after each but a
// day's last is 5 min and a pack is changed in 20 min: a day of 3 takes 6·10 + 3·5 + 2·20 = 115 min, one of
// 1 takes 25 min, and the nights are not counted: 255 min.
func TestCostOfSessions(t *testing.T) {
	c := &design.Plan{
		Factors: []design.Factor{{Name: "a", Levels: []string{"0", "1"}}},
		Block:   design.Block{Name: "pack", Count: 7, Replicates: 1},
		Session: &design.Session{Name: "day", Blocks: 3},
		Budget:  &design.Budget{Run: 10 * time.Minute, Rest: 5 * time.Minute, Swap: 20 * time.Minute},
	}
	want := cost.Cost{Runs: 14, Blocks: 7, Time: 255 * time.Minute, Sessions: 3, Longest: 115 * time.Minute}
	if diff := cmp.Diff(want, cost.Of(c)); diff != "" {
		t.Errorf("Cost (-want +got):\n%s", diff)
	}
	var blocks [][]int
	for range 7 {
		blocks = append(blocks, []int{0, 1})
	}
	if diff := cmp.Diff([]time.Duration{115 * time.Minute, 115 * time.Minute, 25 * time.Minute}, cost.SessionTimes(c, blocks)); diff != "" {
		t.Errorf("SessionTimes (-want +got):\n%s", diff)
	}
	if got := cost.BenchTime(c, blocks); got != 255*time.Minute {
		t.Errorf("BenchTime = %v, want 4h15m", got)
	}
}

// permute visits every order of the runs, orders of equal runs as often as there are.
func permute(runs []int, visit func([]int)) {
	var rec func(k int)
	order := append([]int(nil), runs...)
	rec = func(k int) {
		if k == len(order) {
			visit(order)
			return
		}
		for i := k; i < len(order); i++ {
			order[k], order[i] = order[i], order[k]
			rec(k + 1)
			order[k], order[i] = order[i], order[k]
		}
	}
	rec(0)
}

func TestBenchTimeWithoutBudget(t *testing.T) {
	c := &design.Plan{Factors: []design.Factor{{Name: "a", Levels: []string{"0", "1"}}}}
	if got := cost.BenchTime(c, [][]int{{0, 1}}); got != 0 {
		t.Errorf("BenchTime = %v, want 0", got)
	}
}

func TestSupplyRuns(t *testing.T) {
	for _, c := range []struct {
		s    design.Supply
		want int
	}{
		{design.Supply{Capacity: 5, Usable: 0.8, PerRun: 0.5}, 8},
		{design.Supply{Capacity: 0.3, Usable: 1, PerRun: 0.1}, 3}, // in binary 0.3/0.1 falls short of 3
		{design.Supply{Capacity: 5, Usable: 0.8, PerRun: 0.51}, 7},
		{design.Supply{Capacity: 1, Usable: 0.1, PerRun: 2}, 0},
		{design.Supply{Capacity: 1e300, Usable: 1, PerRun: 1e-300}, design.MaxRuns + 1},
	} {
		if got := c.s.Runs(); got != c.want {
			t.Errorf("%+v lasts %d runs, want %d", c.s, got, c.want)
		}
	}
}
