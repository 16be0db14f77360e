package cost

import (
	"fairrun/design"
	"fairrun/design/order"
	"slices"
)

// Spec is what the plan asks of the whole plots of its order, with the model that is fitted.
func Spec(c *design.Plan) order.Spec {
	p := order.Spec{
		Treatments: c.CountTreatments(), Blocks: c.Block.Count, Replicates: c.Block.Replicates, Runs: c.Block.Runs,
		Drift: order.DriftModel(c.Drift.Model), Own: c.Drift.Own, CarryOver: c.Order.CarryOver, WholePlots: c.WholePlots(),
	}
	if c.FoldedApart() { // all of it, in blocks that hold a part
		p.Runs, p.Replicates = c.DrawnPerBlock(), 0
	}
	if c.Interactions || len(c.Factors) == 1 {
		return p
	}
	var levels [][]int
	for _, t := range c.Treatments() {
		row := make([]int, len(c.Factors))
		for i, f := range c.Factors {
			row[i] = slices.Index(f.Levels, t.Levels[i])
		}
		levels = append(levels, row)
	}
	p.Effects = order.MainEffects(levels)
	return p
}
