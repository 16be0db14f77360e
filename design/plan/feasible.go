package plan

import (
	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/stats/words"
	"fmt"
)

// feasible checks the arithmetic of a plan whose tables were read without fault: that there are
// not too many runs, that blocks hold what they must, that something is left to estimate the noise
// and that the supply of a block lasts for its runs. The first that fails is the one fault.
func (r *planReader) feasible(c *design.Plan, block, budget *table) {
	t, k := c.TreatmentsPerBlock(), c.DrawnPerBlock()
	size := block.byKey["replicates"]
	byRuns := size == nil
	if byRuns {
		size = block.byKey["runs"]
	}
	count := block.byKey["count"].value.at
	longer := "write runs = 3 or more"
	switch {
	case c.Block.Runs == 0:
		longer = "write replicates = 2 or more"
		if byRuns {
			longer = fmt.Sprintf("write runs = %d or more", max(3, 2*t))
		}
	case t == 3:
		longer = "write replicates = 1 in place of runs"
	}
	switch {
	case k > design.MaxRuns || c.Runs() > design.MaxRuns:
		r.add(count, fmt.Sprintf("the plan asks for %s of %s", c.Block.Many(c.Block.Count), words.Count(c.RunsPerBlock(), "run")), fmt.Sprintf("a plan may have at most %d runs", design.MaxRuns))
	case c.Block.Runs == 1:
		r.add(size.value.at, fmt.Sprintf("a %s of 1 run compares nothing", c.Block.Name), "write runs = 2 or more")
	case c.Drift.Model == design.DriftQuadratic && c.AnalysedPerBlock() < 3:
		r.add(size.value.at, fmt.Sprintf("a %s of %s has no curve that can be distinguished from a line, as the quadratic drift model needs", c.Block.Name, words.Count(c.AnalysedPerBlock(), "run")),
			longer+`, or choose model = "linear"`)
	case c.Drift.Model == design.DriftCurve && c.AnalysedPerBlock() < design.CurveRuns:
		r.add(size.value.at, fmt.Sprintf("a %s of %s has no curve that can be distinguished from any course over position, as the curve drift model needs", c.Block.Name, words.Count(c.AnalysedPerBlock(), "run")),
			`choose model = "position"`)
	case c.Block.Runs > 0 && !cost.Enough(c):
		least, ok := cost.LeastBlocks(c)
		if !ok {
			r.add(count, fmt.Sprintf("no number of %s of %d runs is enough for %d treatments", c.Block.Plural(), k, t), "take treatments out, or choose a simpler drift model")
			return
		}
		r.add(count, fmt.Sprintf("%d treatments need at least %s of %d runs; you have %d", t, c.Block.Many(least), k, c.Block.Count),
			fmt.Sprintf("write count = %d or more: then all are compared, and something is left to estimate the noise", least))
	case !cost.Enough(c):
		r.add(size.value.at, cost.Shortage(c.Freedom(), c.Block), cost.MoreRuns(c, byRuns))
	case !r.plotsJudged(c, count):
	case c.Budget != nil && cost.Longest(c) > 100*365*24:
		r.add(budget.byKey["run"].at, fmt.Sprintf("the times of %s add up to more than a century", words.Count(c.Runs(), "run")), "are the units right?")
	default:
		r.lasting(c, size.value.at, budget, byRuns)
	}
}

// lasting checks that the supply of a block lasts for its runs, and otherwise says which plan of
// the same size would fit.
func (r *planReader) lasting(c *design.Plan, at int, budget *table, byRuns bool) {
	if c.Budget == nil || c.Budget.Supply == nil {
		return
	}
	supply := c.Budget.Supply
	t, k, lasts := c.TreatmentsPerBlock(), c.RunsPerBlock(), supply.Runs()
	if k <= lasts {
		return
	}
	fixed := c.Order.Fixed()
	if fixed > 0 && lasts < 2+fixed {
		r.add(at, fmt.Sprintf("a %s lasts %s, of which %d are warm-up and reference runs; comparing within a %[1]s takes 2 more", c.Block.Name, words.Count(lasts, "run"), fixed),
			"take warm-up or reference runs out, or "+cost.ToLast(c.Budget, 2+fixed, budget.byKey["load"] != nil))
		return
	}
	if lasts < 2 {
		r.add(budget.byKey["capacity"].value.at, fmt.Sprintf("a %s gives %s and a run takes %s: it lasts %s, and comparing within a %[1]s takes 2",
			c.Block.Name, cost.SupplyText(supply, supply.Capacity*supply.Usable), cost.SupplyText(supply, supply.PerRun), words.Count(lasts, "run")),
			cost.ToLast(c.Budget, 2, budget.byKey["load"] != nil))
		return
	}
	d := *c
	var do string
	lasts -= fixed // for the runs that are drawn
	switch {
	case c.Block.Runs == 0 && t <= lasts:
		d.Block.Replicates = lasts / t
		do = "write " + cost.Written(d.Block, byRuns)
	case c.Block.Runs == 0 && !byRuns:
		d.Block.Replicates, d.Block.Runs = 0, lasts
		do = fmt.Sprintf("write runs = %d in place of replicates", lasts)
	default:
		d.Block.Replicates, d.Block.Runs = 0, lasts
		do = fmt.Sprintf("write runs = %d", lasts)
	}
	what := fmt.Sprintf("a %s lasts %s and the plan puts %d into it", c.Block.Name, words.Count(lasts+fixed, "run"), k)
	least, ok := cost.LeastBlocks(&d)
	if !ok {
		r.add(at, what, "take treatments out, or "+cost.ToLast(c.Budget, k, budget.byKey["load"] != nil))
		return
	}
	fits := d.RunsPerBlock()
	if c.Block.Count < least {
		what += fmt.Sprintf(": %d treatments need at least %s of %d runs; you have %d", t, c.Block.Many(least), fits, c.Block.Count)
	}
	d.Block.Count = max(least, (c.Runs()+fits-1)/fits)
	r.add(at, what, fmt.Sprintf("%s and count = %d: %s", do, d.Block.Count, words.Count(d.Runs(), "run")))
}
