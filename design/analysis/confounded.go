package analysis

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/order"
)

// confounded says in words what the runs of a plan cannot tell from what.
func confounded(c *design.Campaign, plan order.Plan, blocks [][]int) []string {
	said := []string{}
	say := func(format string, args ...any) { said = append(said, fmt.Sprintf(format, args...)) }
	switch f, err := c.Fraction(); {
	case err == nil && f != nil:
		said = append(said, Aliases(c, f, 2)...)
	case c.Order.Screen != nil:
		say("each main effect is mixed, in part, with every interaction of two other factors: large interactions can pose as main effects")
	case !c.Interactions && len(c.Factors) > 1:
		say("interactions are taken to be absent: where there are some, they are counted as noise or as main effects")
	}
	if plan.WholePlots != nil {
		s := plan.Strata()[0]
		say("the %d settings that are hard to change are told by %d whole plots each, and mixed with whatever differs between whole plots", s.Settings, s.Replicates)
	}
	if plan.Runs > 0 && plan.Runs < plan.Treatments {
		if apart, pairs := neverMeet(plan.Treatments, blocks); apart > 0 {
			say("%d of the %d pairs of treatments never meet in a %s and are compared by way of others", apart, pairs, c.Block.Name)
		}
	}
	if c.Drift.Model == design.DriftNone {
		say("drift within a %s, which the plan takes to be absent, is counted as noise or as an effect", c.Block.Name)
	}
	return said
}

// Aliases says in words what the runs of a fraction mix with effects of up to so many
// factors: other effects, of up to two. Effects that stand alone are left out.
func Aliases(c *design.Campaign, f *order.Fraction, factors int) []string {
	var names []string
	for _, factor := range c.Factors {
		names = append(names, factor.Name)
	}
	var lines []string
	for _, a := range f.Aliases(2) {
		if len(a.Effects) > 1 && len(a.Effects[0]) <= factors {
			lines = append(lines, a.Words(names))
		}
	}
	return lines
}

// neverMeet counts the pairs of treatments that no block holds both of.
func neverMeet(treatments int, blocks [][]int) (apart, pairs int) {
	met := make([]bool, treatments*treatments)
	for _, block := range blocks {
		for _, i := range block {
			for _, j := range block {
				met[i*treatments+j] = true
			}
		}
	}
	for i := range treatments {
		for j := range i {
			pairs++
			if !met[i*treatments+j] {
				apart++
			}
		}
	}
	return apart, pairs
}
