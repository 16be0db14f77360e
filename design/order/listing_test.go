package order_test

import (
	"fmt"
	"testing"

	"fairrun/design/lot"
	"fairrun/design/order"
)

// TestList lists small sets of every kind and draws from them: every order that is drawn is listed, every order that is
// listed is drawn, all equally often.
func TestList(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan order.Spec
		want int // how many, by counting; 0: as many as are drawn
	}{
		// 2 orders of the whole plots and 2 of the runs in each, in each of 2 blocks.
		{order.Spec{Treatments: 4, Blocks: 2, Replicates: 1, WholePlots: crossed(2, 2)}, 8 * 8},
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 1, Drift: order.Linear, WholePlots: crossed(2, 2)}, 0},
		// Latin squares of 3: 12.
		{order.Spec{Treatments: 3, Blocks: 3, Replicates: 1, Drift: order.Position}, 12},
		// Williams' square of 4 begins with any of the 24 orders of names, its blocks in 24 orders; 4 exchanges of names permute blocks.
		{order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, CarryOver: true}, 24 * 24 / 4},
		{order.Spec{Treatments: 3, Blocks: 3, Replicates: 1, CarryOver: true, Reference: []int{0}}, 0},
		// Pairs of 3 treatments in 3 blocks: 6 orders of the blocks, 2 of the runs in each.
		{order.Spec{Treatments: 3, Blocks: 3, Runs: 2}, 6 * 8},
		{order.Spec{Treatments: 4, Blocks: 2, Replicates: 1, Drift: order.Linear, Reference: []int{0}}, 0},
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 1, Drift: order.Position, WholePlots: crossed(2, 2)}, 0},
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 1, CarryOver: true, WholePlots: crossed(2, 2)}, 0},
		{order.Spec{Treatments: 5, Blocks: 2, Runs: 4, WholePlots: []int{0, 0, 0, 1, 1}}, 0},
	} {
		d := draw(t, c.plan, 1)
		s := set(t, d)
		orders, known := s.List(20_000)
		if !known {
			t.Errorf("%+v: not listed", c.plan)
			continue
		}
		times := map[string]int{}
		for blocks := range orders {
			times[fmt.Sprint(blocks)] = 0
		}
		if c.want > 0 && len(times) != c.want {
			t.Errorf("%+v: %d orders, want %d", c.plan, len(times), c.want)
		}
		m := s.Sampler(lot.New(9, 1<<32))
		for range 30 * len(times) {
			m.Fill(d.Blocks)
			name := fmt.Sprint(d.Blocks)
			if _, listed := times[name]; !listed {
				t.Fatalf("%+v: %s is drawn, not listed", c.plan, name)
			}
			times[name]++
		}
		var list []int
		for _, n := range times {
			list = append(list, n)
		}
		if pv := chiSquared(list); pv < unlikely {
			t.Errorf("%+v: %d orders are not drawn equally often, p = %g", c.plan, len(list), pv)
		}
	}
}

// TestListIsBounded does not list what is too much.
func TestListIsBounded(t *testing.T) {
	t.Parallel()
	for _, p := range []order.Spec{
		{Treatments: 4, Blocks: 2, Replicates: 1, WholePlots: crossed(2, 2)},
		{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Position},
		{Treatments: 12, Blocks: 6, Replicates: 1, WholePlots: crossed(3, 4)},
	} {
		if _, known := set(t, draw(t, p, 1)).List(63); known {
			t.Errorf("%+v: listed", p)
		}
	}
}
