package plan

import (
	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/stats/words"
	"fmt"
)

// plotsJudged checks that whole plots and runs, each for themselves, leave something to judge effects
// by where whole plots stand in incomplete blocks, or positions or neighbours count.
func (r *planReader) plotsJudged(c *design.Plan, count int) bool {
	if c.WholePlots() == nil || c.Block.Runs == 0 && c.Drift.Model != design.DriftPosition && !c.Order.CarryOver {
		return true
	}
	p := cost.Spec(c)
	enough := func() bool {
		s := p.Strata()
		return s[0].DF >= 1 && s[1].DF >= 1
	}
	if enough() {
		return true
	}
	what, hard := "what changes within whole plots", words.List(c.HardFactors(), 12)
	if p.Strata()[0].DF < 1 {
		what = "the effect of " + hard
	}
	whole := c.Block.Many(c.Block.Count) + " of " + words.Count(p.PlotsPerBlock(), "whole plot")
	for p.Blocks++; p.Blocks*c.RunsPerBlock() <= design.MaxRuns; p.Blocks++ {
		if enough() {
			r.add(count, fmt.Sprintf("%s leave nothing to tell %s from chance; hard to change: %s", whole, what, hard),
				fmt.Sprintf("write count = %d or more", p.Blocks))
			return false
		}
	}
	r.add(count, fmt.Sprintf("%s leave nothing to tell %s from chance, however many there are; hard to change: %s", whole, what, hard),
		"choose a simpler drift model, or longer blocks")
	return false
}
