package analysis

import (
	"fmt"
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/screen"
	"fairrun/stats/words"
)

// confounded says in words what the runs of a plan cannot tell from what.
func confounded(c *design.Plan, o *order.Drawn) []string {
	plan := o.Whole()
	said := []string{}
	say := func(format string, args ...any) { said = append(said, fmt.Sprintf(format, args...)) }
	switch f, err := c.Fraction(); {
	case err == nil && f != nil:
		said = append(said, Aliases(c, f, 2)...)
	case c.Order.Screen != nil:
		said = append(said, PartAliases(c))
	case !c.Interactions && len(c.Factors) > 1:
		say("interactions are taken to be absent: where there are some, they are counted as noise or as main effects")
	}
	if plan.WholePlots != nil {
		s := o.Strata()[0]
		say("the %d settings that are hard to change rest on %s each, and mixed with whatever differs between whole plots", s.Settings, words.Count(s.Replicates, question.WholePlot))
	}
	said = append(said, alongDrift(c, o)...)
	// Where main effects are compared it does not matter which treatments meet.
	if o.Plan.Runs > 0 && o.Plan.Runs < o.Plan.Treatments && (c.Interactions || len(c.Factors) == 1) {
		if apart, pairs := neverMeet(plan.Treatments, o.Blocks); apart > 0 {
			say("%d of the %d pairs of treatments never meet in a %s and are compared by way of others", apart, pairs, c.Block.Name)
		}
	}
	if c.Drift.Model == design.DriftNone {
		say("drift within a %s, which the plan takes to be absent, is counted as noise or as an effect", c.Block.Name)
	}
	return said
}

// levelNumbers is, for each treatment, the number from 0 of its level of each factor.
func levelNumbers(c *design.Plan) [][]int {
	var levels [][]int
	for _, t := range c.Treatments() {
		row := make([]int, len(c.Factors))
		for k, f := range c.Factors {
			row[k] = slices.Index(f.Levels, t.Levels[k])
		}
		levels = append(levels, row)
	}
	return levels
}

// Aliases says in words what the runs of a fraction mix with effects of up to so many
// factors: other effects, of up to two. Effects that stand alone are left out.
func Aliases(c *design.Plan, f *screen.Fraction, factors int) []string {
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

// PartAliases says in words what a Plackett–Burman design mixes in part, folded over or not.
//
// The sum over the runs of the product of three columns is what mixes the effect of one with the
// interaction of the others: 4 or 12 of the runs of 12 and 20, 0 or 8 of 24, up to its sign. Over the
// runs and their mirror image it is 0 where one or all three columns change sign.
func PartAliases(c *design.Plan) string {
	switch fold := c.Order.Screen.FoldOver; fold {
	case "":
		return "each main effect is mixed, in part, with interactions of two other factors: large interactions can pose as main effects"
	case design.FoldAll:
		return "interactions of two factors are mixed, in part, with each other; main effects are free of them"
	default:
		return fmt.Sprintf("every main effect but that of %s is mixed, in part, with interactions of two others without %[1]s; the main effect of %[1]s is free of interactions, and its interactions of main effects", fold)
	}
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
