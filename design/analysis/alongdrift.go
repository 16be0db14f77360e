package analysis

import (
	"fmt"
	"math"

	"fairrun/design"
	"fairrun/design/order"
)

// manyAlong is the multiple correlation of a level that is hard to change with drift from which on it is reported: drift
// then takes half of what tells the level within blocks.
var manyAlong = math.Sqrt(0.5)

// alongDrift says in words which factors that are hard to change lie along the drift, as they may where
// blocks hold few whole plots.
func alongDrift(c *design.Plan, o *order.Drawn) []string {
	var lines []string
	levels := levelNumbers(c)
	for k, f := range c.Factors {
		if !f.HardToChange {
			continue
		}
		blocks := make([][]int, len(o.Blocks))
		for b, block := range o.Blocks {
			for _, t := range block {
				blocks[b] = append(blocks[b], levels[t][k])
			}
		}
		plan := o.Whole()
		plan.Treatments = len(f.Levels)
		worst, most := 0, 0.0
		for l, r := range order.DriftCorrelations(plan, blocks) {
			if r > most+1e-9 {
				worst, most = l, r
			}
		}
		if most > manyAlong {
			lines = append(lines, fmt.Sprintf("%s lies along the drift: within the %s its level %s is correlated with that by %.2f, where 1 cannot be distinguished from it", f.Name, c.Block.Plural(), f.Levels[worst], most))
		}
	}
	return lines
}
