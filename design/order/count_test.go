package order_test

import (
	"testing"

	"fairrun/design/order"
)

// TestCountKnown: numbers that are known are written in full below a million. There are 576 Latin squares of
// 4 and 161280 of 5 (OEIS A002860), 12² pairs of those of 3, and with 2 whole plots of 2 runs
// in 3 blocks (2!·2!·2!)³ orders; 812851200 squares of 6 are above. Of 5 blocks of 4 there are (4!)⁵·5!.
func TestCountKnown(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan order.Spec
		want string
	}{
		{order.Spec{Treatments: 4, Blocks: 4, Replicates: 1, Drift: order.Position}, "576"},
		{order.Spec{Treatments: 5, Blocks: 5, Replicates: 1, Drift: order.Position}, "161280"},
		{order.Spec{Treatments: 3, Blocks: 6, Replicates: 1, Drift: order.Position}, "144"},
		{order.Spec{Treatments: 6, Blocks: 6, Replicates: 1, Drift: order.Position}, "about 10^8.9"},
		{order.Spec{Treatments: 4, Blocks: 3, Replicates: 1, WholePlots: []int{0, 0, 1, 1}}, "512"},
		{order.Spec{Treatments: 5, Blocks: 5, Runs: 4}, "about 10^9.0"},
	} {
		d := draw(t, c.plan, 1)
		if got := d.Orders.String(); got != c.want {
			t.Errorf("%+v: %s orders, want %s", c.plan, got, c.want)
		}
		if d.Orders.Exact > 0 {
			t.Errorf("%+v: %d orders are said to be gone through one by one", c.plan, d.Orders.Exact)
		}
	}
}
