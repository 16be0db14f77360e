package sheet

import (
	"fairrun/design"
	"fairrun/design/order"
)

// NewOrder draws an order for a plan from a seed. The same plan and seed give the
// same order.
func NewOrder(c *design.Campaign, seed uint64) (*order.Drawn, error) {
	return order.Draw(OrderPlan(c), seed)
}

// OrderPlan is what a plan asks of its order, in numbers.
func OrderPlan(c *design.Campaign) order.Plan {
	return order.Plan{
		Treatments: len(c.Treatments()),
		Blocks:     c.Block.Count,
		Replicates: c.Block.Replicates,
		Drift:      order.DriftModel(c.Drift.Model),
		Shared:     c.Drift.Shared,
	}
}
