package design

import (
	"fmt"

	"fairrun/stats/words"
)

// feasible checks the arithmetic of a plan whose tables were read without fault: that there are
// not too many runs, that blocks hold what they must, that something is left to estimate the noise
// and that the supply of a block lasts for its runs. The first that fails is the one fault.
func (r *planReader) feasible(c *Plan, block, budget *table) {
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
	case k > MaxRuns || c.Runs() > MaxRuns:
		r.add(count, fmt.Sprintf("the plan asks for %s of %s", c.Block.many(c.Block.Count), words.Count(c.RunsPerBlock(), "run")), fmt.Sprintf("a plan may have at most %d runs", MaxRuns))
	case c.Block.Runs == 1:
		r.add(size.value.at, fmt.Sprintf("a %s of 1 run compares nothing", c.Block.Name), "write runs = 2 or more")
	case c.Drift.Model == DriftQuadratic && c.AnalysedPerBlock() < 3:
		r.add(size.value.at, fmt.Sprintf("a %s of %s has no curve that can be told from a line, as the quadratic drift model needs", c.Block.Name, words.Count(c.AnalysedPerBlock(), "run")),
			longer+`, or choose model = "linear"`)
	case c.Block.Runs > 0 && !c.enough():
		least, ok := c.leastBlocks()
		if !ok {
			r.add(count, fmt.Sprintf("no number of %s of %d runs is enough for %d treatments", words.Plural(c.Block.Name), k, t), "take treatments out, or choose a simpler drift model")
			return
		}
		r.add(count, fmt.Sprintf("%d treatments need at least %s of %d runs; you have %d", t, c.Block.many(least), k, c.Block.Count),
			fmt.Sprintf("write count = %d or more: then all are compared, and something is left to estimate the noise", least))
	case !c.enough():
		r.add(size.value.at, c.Freedom().shortage(c.Block), c.moreRuns(byRuns))
	case !r.plotsTold(c, count):
	case c.Budget != nil && c.longest() > 100*365*24:
		r.add(budget.byKey["run"].at, fmt.Sprintf("the times of %s add up to more than a century", words.Count(c.Runs(), "run")), "are the units right?")
	default:
		r.lasting(c, size.value.at, budget, byRuns)
	}
}

// longest returns the hours no order of the plan exceeds: every pause with a rest, a swap and all
// changeovers.
func (c *Plan) longest() float64 {
	each := c.Budget.Run.Hours() + c.Budget.Rest.Hours() + c.Budget.Swap.Hours()
	for _, change := range c.Budget.Changeover {
		each += change.Time.Hours()
	}
	return float64(c.Runs()) * each
}

// enough reports whether the runs of the plan can answer its question: every treatment is run, and a
// degree of freedom is left for the noise, which takes more than the t-1 runs that link t
// treatments across blocks.
func (c *Plan) enough() bool {
	return c.Block.Count*c.AnalysedPerBlock() >= c.countTreatments() && c.Freedom().Residual >= 1
}

// leastBlocks returns the smallest number of blocks with which there are enough runs. ok is false
// when no number within MaxRuns would do.
func (c *Plan) leastBlocks() (n int, ok bool) {
	d := *c
	for n = 1; n*c.RunsPerBlock() <= MaxRuns; n++ {
		d.Block.Count = n
		if d.enough() {
			return n, true
		}
	}
	return 0, false
}

// leastReplicates is leastBlocks for the replicates in each block.
func (c *Plan) leastReplicates() (n int, ok bool) {
	d := *c
	for n = 1; n*c.TreatmentsPerBlock()*c.Block.Count <= MaxRuns; n++ {
		d.Block.Replicates = n
		if d.enough() {
			return n, true
		}
	}
	return 0, false
}

// shortage says in numbers why nothing is left to estimate the noise.
func (f Freedom) shortage(b Block) string {
	s := fmt.Sprintf("%s leave nothing to estimate the noise: %s", words.Count(f.Runs, "run"), b.many(f.Blocks))
	if f.Drift > 0 {
		s += ", " + words.Count(f.Drift, "drift term")
	}
	if f.Covariates > 0 {
		s += ", " + words.Count(f.Covariates, "covariate")
	}
	return fmt.Sprintf("%s and %s take %d", s, words.Count(f.Treatments, "treatment difference"), f.Blocks+f.Drift+f.Covariates+f.Treatments)
}

// moreRuns says which number of replicates or of complete blocks would be enough.
func (c *Plan) moreRuns(byRuns bool) string {
	replicates, okReplicates := c.leastReplicates()
	blocks, okBlocks := c.leastBlocks()
	size := Block{Replicates: replicates}.written(byRuns)
	switch {
	case okReplicates && okBlocks:
		return fmt.Sprintf("write %s or count = %d, or more", size, blocks)
	case okReplicates && byRuns:
		return fmt.Sprintf("write %s, or more", size)
	case okReplicates:
		return fmt.Sprintf("write %s or more", size)
	case okBlocks:
		return fmt.Sprintf("write count = %d or more", blocks)
	}
	return "take treatments out, or choose a simpler drift model"
}

// lasting checks that the supply of a block lasts for its runs, and otherwise says which plan of
// the same size would fit.
func (r *planReader) lasting(c *Plan, at int, budget *table, byRuns bool) {
	if c.Budget == nil || c.Budget.Supply == nil {
		return
	}
	supply := c.Budget.Supply
	t, k, lasts := c.TreatmentsPerBlock(), c.RunsPerBlock(), supply.Runs()
	if k <= lasts {
		return
	}
	fixed := c.Order.fixed()
	if fixed > 0 && lasts < 2+fixed {
		r.add(at, fmt.Sprintf("a %s lasts %s, of which %d are warm-up and reference runs; comparing within a %[1]s takes 2 more", c.Block.Name, words.Count(lasts, "run"), fixed),
			"take warm-up or reference runs out, or "+c.Budget.toLast(2+fixed, budget.byKey["draw"] != nil))
		return
	}
	if lasts < 2 {
		r.add(budget.byKey["capacity"].value.at, fmt.Sprintf("a %s gives %s and a run takes %s: it lasts %s, and comparing within a %[1]s takes 2",
			c.Block.Name, supply.amount(supply.Capacity*supply.Usable), supply.amount(supply.PerRun), words.Count(lasts, "run")),
			c.Budget.toLast(2, budget.byKey["draw"] != nil))
		return
	}
	d := *c
	var do string
	lasts -= fixed // for the runs that are drawn
	switch {
	case c.Block.Runs == 0 && t <= lasts:
		d.Block.Replicates = lasts / t
		do = "write " + d.Block.written(byRuns)
	case c.Block.Runs == 0 && !byRuns:
		d.Block.Replicates, d.Block.Runs = 0, lasts
		do = fmt.Sprintf("write runs = %d in place of replicates", lasts)
	default:
		d.Block.Replicates, d.Block.Runs = 0, lasts
		do = fmt.Sprintf("write runs = %d", lasts)
	}
	what := fmt.Sprintf("a %s lasts %s and the plan puts %d into it", c.Block.Name, words.Count(lasts+fixed, "run"), k)
	least, ok := d.leastBlocks()
	if !ok {
		r.add(at, what, "take treatments out, or "+c.Budget.toLast(k, budget.byKey["draw"] != nil))
		return
	}
	fits := d.RunsPerBlock()
	if c.Block.Count < least {
		what += fmt.Sprintf(": %d treatments need at least %s of %d runs; you have %d", t, c.Block.many(least), fits, c.Block.Count)
	}
	d.Block.Count = max(least, (c.Runs()+fits-1)/fits)
	r.add(at, what, fmt.Sprintf("%s and count = %d: %s", do, d.Block.Count, words.Count(d.Runs(), "run")))
}
