package size

import (
	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// kept is the share of information that drift, incomplete blocks and carry-over leave in an
// order of a plan; all where there is none.
func kept(c *design.Plan, d *order.Drawn) float64 {
	if d == nil {
		return 1
	}
	share := d.Efficiency * d.BlockEfficiency
	if carried := CarriedEfficiency(c, d); carried > 0 { // NaN where it cannot be had
		share *= min(1, carried)
	}
	return share
}

// seedOrder is the order drawn from the seed of a plan, which stands for all; nil where none can
// be had.
func seedOrder(c *design.Plan) *order.Drawn {
	seed := uint64(1)
	if c.Seed != nil {
		seed = *c.Seed
	}
	drawn, err := sheet.NewOrder(c, seed)
	if err != nil {
		return nil
	}
	return drawn
}

// family is what a plan's blocks offer one family of comparisons.
type family struct {
	question.Family
	plan      *design.Plan
	design    power.Design
	compare   power.Test
	plots     *plots       // nil without whole plots
	specimens *interplay   // nil with one specimen or none
	drawn     *order.Drawn // an order of the plan, where precision is that of it; otherwise nil
	most      int          // blocks that are tried
	done      float64      // blocks' worth of runs that are made, after results

	numbersOnly bool // of blocks: no curve of what others achieve
}

// familiesOf lists the families of a plan, as the verdict makes them. Several looks count
// as information that is lost.
func familiesOf(c *design.Plan, efficiency float64) []family {
	free := c.Freedom()
	d := power.Design{
		Treatments: c.TreatmentsPerBlock(), Blocks: c.Block.Count, Replicates: c.Block.Replicates, RunsPerBlock: c.Block.Runs,
		Terms: free.Treatments, Drift: free.Drift + free.Covariates, CarryOver: free.CarryOver, Efficiency: efficiency / question.Inflation(c),
	}
	d.Sample = c.BlocksAgree() && c.Block.Runs == 0 && c.WholePlots() == nil
	d.ByLevel = c.Analysis.Noise == design.NoiseByLevel
	if c.Drift.Own && c.Drift.Model != design.DriftPosition {
		d.Drift, d.OwnDrift = free.Covariates, free.Drift/c.Block.Count
	}
	var out []family
	for _, f := range question.Families(c) {
		d.Compared = len(f.Levels)
		out = append(out, family{Family: f, plan: c, design: d, plots: plotsOf(c), most: MostBlocks, done: float64(c.Block.Count),
			compare: TestOf(c, len(f.Levels))})
	}
	return out
}

// name is the family's factors as one: "A", "A × B".
func (s family) name() string { return s.Factors.Term() }

// judged names the family whose interplay the comparisons are judged by: beside combinations theirs.
func (s family) judged() string {
	if s.Average {
		return question.Families(s.plan)[0].Factors.Term()
	}
	return s.name()
}

// count is how many levels are compared.
func (s family) count() int { return len(s.Levels) }

// familiesSoFar lists the families of a campaign, some of whose blocks are done.
func familiesSoFar(s *sheet.Sheet) []family {
	out := familiesOf(s.Campaign, kept(s.Campaign, &s.Draw.Order))
	p := question.ProgressOf(s)
	for i := range out {
		out[i].done = p.Share * float64(p.Blocks)
	}
	return out
}

// Growth is how a campaign grows by further blocks.
func Growth(s *sheet.Sheet) verdict.Growth {
	families := familiesSoFar(s)
	replicates := float64(s.Campaign.DrawnPerBlock()) / float64(len(s.Campaign.Treatments()))
	return func(family string, _ int, now power.Precision) (power.Growth, float64) {
		for _, f := range families {
			if f.name() == family {
				return f.moreBlocks(now), replicates
			}
		}
		return families[0].moreBlocks(now), replicates // one factor with the others held
	}
}

// TestOf is how a plan judges its family of so many levels: by the family's own law, or by that of the table.
func TestOf(c *design.Plan, levels int) power.Test {
	t := power.Test{Family: familyOf(c, levels), Alpha: c.Analysis.Alpha}
	if c.Family() != design.FamilyTable {
		return t
	}
	families, trended := question.Families(c), 0
	for _, f := range families {
		if len(f.Factors) == 1 && linmod.Trends(verdict.LevelValues(f.Levels)) != nil {
			trended++ // beside comparisons with the best, trends are families of their own
		}
	}
	t.Alpha /= float64(len(c.Responses))
	if c.Analysis.Noise == design.NoiseByLevel {
		trended = 0
	}
	if c.Analysis.Noise == design.NoiseByLevel || c.Analysis.Compare == design.CompareBest {
		t.Alpha /= float64(len(families) + trended)
		return t
	}
	var all []compare.Family
	for _, f := range families {
		all = append(all, familyOf(c, len(f.Levels)))
	}
	t.Family = compare.OneTable(all)
	return t
}

// familyOf is the law of a plan's family of comparisons.
func familyOf(c *design.Plan, levels int) compare.Family {
	if c.Analysis.Noise == design.NoiseByLevel {
		switch {
		case c.Analysis.Compare == design.CompareBaseline:
			return compare.Slices{Family: compare.Single{}, Count: levels - 1}
		case !c.RepeatsWithin():
			return compare.Slices{Family: compare.Single{}, Count: levels * (levels - 1) / 2}
		}
	}
	switch c.Analysis.Compare {
	case design.CompareBaseline:
		return compare.Baseline{Levels: levels}
	case design.CompareBest:
		return compare.Best{Levels: levels}
	}
	return compare.Pairs{Levels: levels}
}
