package order_test

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/order"
)

func TestImpossiblePlans(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan    order.Spec
		reason  string
		nearest *order.Spec
	}{
		{
			order.Spec{Treatments: 1, Blocks: 1, Replicates: 1},
			"order: 1 treatment cannot be compared; at least 2 are needed",
			&order.Spec{Treatments: 2, Blocks: 1, Replicates: 1},
		},
		{
			order.Spec{Treatments: 3, Replicates: 1},
			"order: a plan needs at least 1 block; it has 0",
			&order.Spec{Treatments: 3, Blocks: 1, Replicates: 1},
		},
		{
			order.Spec{Treatments: 3, Blocks: 2},
			"order: each treatment needs at least 1 run in each block; it has 0",
			&order.Spec{Treatments: 3, Blocks: 2, Replicates: 1},
		},
		{
			order.Spec{Treatments: 4, Blocks: 1, Replicates: 1, Drift: order.Linear, Own: true},
			"order: 4 treatments with linear drift need at least 1 block of 8 runs; you have 1 of 4, too few for the 5 numbers to be estimated",
			&order.Spec{Treatments: 4, Blocks: 1, Replicates: 2, Drift: order.Linear, Own: true},
		},
		{
			order.Spec{Treatments: 2, Blocks: 3, Replicates: 1, Drift: order.Linear, Own: true},
			"order: 2 treatments with each block's own linear drift need at least 3 blocks of 4 runs; you have 3 of 2, too few for the 7 numbers to be estimated",
			&order.Spec{Treatments: 2, Blocks: 3, Replicates: 2, Drift: order.Linear, Own: true},
		},
		{
			order.Spec{Treatments: 2, Blocks: 3, Replicates: 1, Drift: order.Quadratic},
			"order: 2 treatments with shared quadratic drift need at least 3 blocks of 4 runs; you have 3 of 2, too few for the 6 numbers to be estimated",
			&order.Spec{Treatments: 2, Blocks: 3, Replicates: 2, Drift: order.Quadratic},
		},
		{
			order.Spec{Treatments: 2, Blocks: 1, Replicates: 1, Drift: "cubic"},
			`order: drift model "cubic" is not one of none, linear, quadratic, curve, position`,
			nil,
		},
		{
			order.Spec{Treatments: 201, Blocks: 4, Replicates: 2},
			"order: 201 treatments are more than the 200 that an order is drawn for",
			nil,
		},
		{
			order.Spec{Treatments: 1 << 30, Blocks: 4, Runs: 2},
			"order: 1073741824 treatments are more than the 200 that an order is drawn for",
			nil,
		},
		{
			order.Spec{Treatments: 200, Blocks: 1 << 30, Replicates: 1 << 30},
			"order: 1073741824 blocks of 200 treatments with 1073741824 runs each are more than 100000 runs",
			nil,
		},
		{
			order.Spec{Treatments: 12, Blocks: 1, Runs: 8},
			"order: 12 treatments with no drift need at least 2 blocks of 8 runs; you have 1 of 8, too few for the 12 numbers to be estimated",
			&order.Spec{Treatments: 12, Blocks: 2, Runs: 8},
		},
		{
			order.Spec{Treatments: 4, Blocks: 9, Runs: 2, Drift: order.Quadratic},
			"order: 4 treatments with shared quadratic drift need at least 9 blocks of 3 runs; you have 9 of 2, too few for the 14 numbers to be estimated",
			&order.Spec{Treatments: 4, Blocks: 9, Runs: 3, Drift: order.Quadratic},
		},
		{
			order.Spec{Treatments: 4, Blocks: 9, Runs: 1},
			"order: a block of 1 run compares nothing; at least 2 are needed",
			&order.Spec{Treatments: 4, Blocks: 9, Runs: 2},
		},
		{
			order.Spec{Treatments: 4, Blocks: 9, Runs: 3, Replicates: 1},
			"order: a block has either 1 run of each treatment or 3 runs in all, not both",
			&order.Spec{Treatments: 4, Blocks: 9, Runs: 3},
		},
		{
			order.Spec{Treatments: 4, Blocks: 1, Replicates: 2, Drift: order.Position},
			"order: drift of any shape over position needs at least 2 blocks that share it; there is 1",
			&order.Spec{Treatments: 4, Blocks: 2, Replicates: 2, Drift: order.Position},
		},
		{
			order.Spec{Treatments: 6, Blocks: 4, Runs: 4, CarryOver: true, WholePlots: []int{0, 0, 1, 1, 2, 2}},
			"order: neighbours of whole plots are balanced in complete blocks only: 4 runs for 6 treatments in each block",
			&order.Spec{Treatments: 6, Blocks: 4, Replicates: 1, CarryOver: true, WholePlots: []int{0, 0, 1, 1, 2, 2}},
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, CarryOver: true, WholePlots: []int{0, 0, 1, 1}, Reference: []int{0}},
			"order: 1 reference run would break whole plots up",
			&order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, CarryOver: true, WholePlots: []int{0, 0, 1, 1}},
		},
		{
			order.Spec{Treatments: 6, Blocks: 6, Runs: 3, WholePlots: []int{0, 0, 0, 1, 1, 1}},
			"order: whole plots keep 2 runs together at least, and a block holds two of them to compare: 4 runs; you have 3",
			&order.Spec{Treatments: 6, Blocks: 6, Runs: 4, WholePlots: []int{0, 0, 0, 1, 1, 1}},
		},
		{
			order.Spec{Treatments: 12, Blocks: 3, Runs: 4, WholePlots: []int{0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5}},
			"order: 6 settings of the hard-to-change factors, 2 in each block, need at least 5 blocks to be compared; you have 3",
			&order.Spec{Treatments: 12, Blocks: 5, Runs: 4, WholePlots: []int{0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5}},
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, CarryOver: true, WholePlots: []int{0, 0, 0, 0}},
			"order: all treatments have one setting of the hard-to-change factors: there are no whole plots to compare",
			&order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, CarryOver: true},
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, WholePlots: []int{0, 0, 2, 2}},
			"order: whole plots are numbered from 0 without gaps; no treatment has 1",
			nil,
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, WholePlots: []int{0, 1}},
			"order: whole plots are given for 2 of 4 treatments",
			nil,
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Effects: [][]float64{{1}, {1}, {1}, {1}}},
			"order: effects do not differ between treatments",
			nil,
		},
		{
			order.Spec{Treatments: 2, Blocks: 4, Replicates: 1, Effects: [][]float64{{1}, {math.NaN()}}},
			"order: an effect of treatment 1 is no number",
			nil,
		},
		{
			order.Spec{Treatments: 2, Blocks: 4, Replicates: 1, Effects: [][]float64{{1}, {1, 2}}},
			"order: treatment 1 has 2 effects, treatment 0 has 1",
			nil,
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Warmup: 1, Reference: []int{0}},
			"order: a reference run stands at position 0; with 1 warm-up run and 5 further runs positions 1 to 5 are open",
			nil,
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Reference: []int{2, 2}},
			"order: two reference runs stand at position 2",
			&order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Reference: []int{2}},
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Baseline: 4},
			"order: the baseline is treatment 4; the plan has 4 treatments, from 0",
			&order.Spec{Treatments: 4, Blocks: 4, Replicates: 1},
		},
		{
			order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Warmup: -1},
			"order: a block cannot have -1 warm-up runs",
			&order.Spec{Treatments: 4, Blocks: 4, Replicates: 1},
		},
	} {
		_, err := order.Draw(c.plan, 1)
		var impossible *order.ImpossibleError
		if !errors.As(err, &impossible) {
			t.Errorf("%+v: error %v, want an ImpossibleError", c.plan, err)
			continue
		}
		if err.Error() != c.reason {
			t.Errorf("%+v: error\n %s\nwant\n %s", c.plan, err, c.reason)
		}
		if diff := cmp.Diff(c.nearest, impossible.Nearest); diff != "" {
			t.Errorf("%+v: nearest plan (-want +got):\n%s", c.plan, diff)
		}
		if impossible.Nearest != nil {
			draw(t, *impossible.Nearest, 1)
		}
	}
}
