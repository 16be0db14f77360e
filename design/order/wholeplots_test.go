package order_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/lot"
	"fairrun/design/order"
)

func TestWholePlotsStayTogether(t *testing.T) {
	t.Parallel()
	for i, p := range []order.Spec{
		{Treatments: 6, Blocks: 4, Replicates: 2, WholePlots: []int{0, 1, 2, 0, 1, 2}, Drift: order.Linear},
		{Treatments: 6, Blocks: 4, Replicates: 1, WholePlots: []int{0, 0, 0, 0, 1, 1}, Drift: order.Quadratic, Own: true},
		{Treatments: 4, Blocks: 3, Replicates: 2, WholePlots: []int{1, 1, 0, 0}},
	} {
		d := draw(t, p, uint64(i))
		m := set(t, d).Sampler(lot.New(uint64(i), 1<<32))
		first := map[int]int{}
		for range 2000 {
			m.Fill(d.Blocks)
			for b, block := range d.Blocks {
				var settings []int
				for k, v := range block {
					if s := p.WholePlots[v]; k == 0 || s != settings[len(settings)-1] {
						settings = append(settings, s)
					}
				}
				if b == 0 {
					first[settings[0]]++
				}
				seen := map[int]bool{}
				for _, s := range settings {
					if seen[s] {
						t.Fatalf("%+v: block %v returns to a setting", p, block)
					}
					seen[s] = true
				}
			}
		}
		var list []int
		for _, n := range first {
			list = append(list, n)
		}
		if pv := chiSquared(list); len(list) < 2 || pv < unlikely {
			t.Errorf("%+v: settings that come first %v, p = %g", p, first, pv)
		}
	}
}

func TestBrokenWholePlot(t *testing.T) {
	t.Parallel()
	p := order.Spec{Treatments: 4, Blocks: 1, Replicates: 1, WholePlots: []int{0, 0, 1, 1}}
	d := draw(t, p, 1)
	d.Blocks = [][]int{{0, 2, 1, 3}}
	if _, err := d.Set(); err == nil || err.Error() != "order: the record does not hold together: a whole plot is broken up" {
		t.Errorf("error %v", err)
	}
}

// TestStrata counts units and degrees of freedom against the split-plot analysis of variance: with
// B blocks, H settings and S treatments in each, r runs of each, (B − 1)(H − 1) for whole plots and
// BHSr − BH − H(S − 1) for runs, less the drift terms.
func TestStrata(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan order.Spec
		want []order.Stratum
	}{
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 2}, []order.Stratum{{Name: "runs", Settings: 4, Replicates: 6, DF: 18}}},
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 2, Drift: order.Linear, Own: true}, []order.Stratum{{Name: "runs", Settings: 4, Replicates: 6, DF: 15}}},
		{
			order.Spec{Treatments: 6, Blocks: 4, Replicates: 1, WholePlots: []int{0, 0, 1, 1, 2, 2}},
			[]order.Stratum{{Name: "whole plots", Settings: 3, Replicates: 4, DF: 6}, {Name: "runs", Settings: 6, Replicates: 4, DF: 9}},
		},
		{
			order.Spec{Treatments: 6, Blocks: 4, Replicates: 2, WholePlots: []int{0, 0, 0, 1, 1, 1}, Drift: order.Quadratic},
			[]order.Stratum{{Name: "whole plots", Settings: 2, Replicates: 4, DF: 3}, {Name: "runs", Settings: 6, Replicates: 8, DF: 34}},
		},
		{
			order.Spec{Treatments: 4, Blocks: 1, Replicates: 2, WholePlots: []int{0, 0, 1, 1}},
			[]order.Stratum{{Name: "whole plots", Settings: 2, Replicates: 1, DF: 0}, {Name: "runs", Settings: 4, Replicates: 2, DF: 4}},
		},
		{ // main effects of 2 settings and of 6 levels within each: 24 − 4 − 5 for runs
			order.Spec{Treatments: 12, Blocks: 2, Replicates: 1, WholePlots: []int{0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1},
				Effects: order.MainEffects([][]int{{0, 0}, {0, 1}, {0, 2}, {0, 3}, {0, 4}, {0, 5}, {1, 0}, {1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 5}})},
			[]order.Stratum{{Name: "whole plots", Settings: 2, Replicates: 2, DF: 1}, {Name: "runs", Settings: 12, Replicates: 2, DF: 15}},
		},
	} {
		if diff := cmp.Diff(c.want, c.plan.Strata()); diff != "" {
			t.Errorf("%+v (-want +got):\n%s", c.plan, diff)
		}
	}
}

// Two motors, each with three settings; changing the motor takes long, so its runs stay together
// within a session.
func ExampleSpec_Strata() {
	plan := order.Spec{Treatments: 6, Blocks: 4, Replicates: 1, WholePlots: []int{0, 0, 0, 1, 1, 1}}
	d, err := order.Draw(plan, 41)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("first session:", d.Blocks[0])
	for _, s := range plan.Strata() {
		fmt.Printf("%s: %d to compare, %d of each, %d degrees of freedom\n", s.Name, s.Settings, s.Replicates, s.DF)
	}
	// Output:
	// first session: [2 0 1 4 5 3]
	// whole plots: 2 to compare, 4 of each, 3 degrees of freedom
	// runs: 6 to compare, 4 of each, 12 degrees of freedom
}
