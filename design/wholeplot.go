package design

import (
	"fmt"
	"slices"
	"strings"

	"fairrun/design/order"
	"fairrun/stats/words"
)

// hardFactors returns the names of the factors that are hard to change.
func (c *Plan) hardFactors() []string {
	var names []string
	for _, f := range c.Factors {
		if f.Change == ChangeHard {
			names = append(names, f.Name)
		}
	}
	return names
}

// leastSplitRuns is the fewest runs of an incomplete block that holds whole plots: two of two.
const leastSplitRuns = 4

// WholePlots returns, for each treatment, the number from 0 of its setting of the factors that are
// hard to change; nil when every run can be set up anew. Runs of one setting stay together within a
// block: they are one whole plot. Where each block runs each setting once there is nothing to keep
// together, and whole plots are single runs, that is none.
func (c *Plan) WholePlots() []int {
	hard := c.hardFactors()
	if hard == nil {
		return nil
	}
	number := map[string]int{}
	plots := make([]int, c.countTreatments())
	perBlock, settings := c.TreatmentsPerBlock(), 0 // settings in a block; a mirror image has as many
	for i, t := range c.Treatments() {
		var key []string
		for j, f := range c.Factors {
			if f.Change == ChangeHard {
				key = append(key, t.Levels[j])
			}
		}
		k := strings.Join(key, "\x00")
		if _, known := number[k]; !known {
			number[k] = len(number)
		}
		plots[i] = number[k]
		if i < perBlock {
			settings = len(number)
		}
	}
	if settings == perBlock && c.Block.Replicates <= 1 {
		return nil
	}
	return plots
}

// order is what the plan asks of the whole plots of its order, with the model that is fitted.
func (c *Plan) order() order.Spec {
	p := order.Spec{
		Treatments: c.countTreatments(), Blocks: c.Block.Count, Replicates: c.Block.Replicates, Runs: c.Block.Runs,
		Drift: order.DriftModel(c.Drift.Model), Shared: c.Drift.Shared, CarryOver: c.Order.CarryOver, WholePlots: c.WholePlots(),
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

// plotsTold checks that whole plots and runs, each for themselves, leave something to tell effects
// from chance where whole plots stand in incomplete blocks, or positions or neighbours count.
func (r *planReader) plotsTold(c *Plan, count int) bool {
	if c.WholePlots() == nil || c.Block.Runs == 0 && c.Drift.Model != DriftPosition && !c.Order.CarryOver {
		return true
	}
	p := c.order()
	told := func() bool {
		s := p.Strata()
		return s[0].DF >= 1 && s[1].DF >= 1
	}
	if told() {
		return true
	}
	what, hard := "what changes within whole plots", words.List(c.hardFactors(), 12)
	if p.Strata()[0].DF < 1 {
		what = "the effect of " + hard
	}
	whole := c.Block.many(c.Block.Count) + " of " + words.Count(p.PlotsPerBlock(), "whole plot")
	for p.Blocks++; p.Blocks*c.RunsPerBlock() <= MaxRuns; p.Blocks++ {
		if told() {
			r.add(count, fmt.Sprintf("%s leave nothing to tell %s from chance; hard to change: %s", whole, what, hard),
				fmt.Sprintf("write count = %d or more", p.Blocks))
			return false
		}
	}
	r.add(count, fmt.Sprintf("%s leave nothing to tell %s from chance, however many there are; hard to change: %s", whole, what, hard),
		"choose a simpler drift model, or longer blocks")
	return false
}
