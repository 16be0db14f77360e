package design

import (
	"fmt"

	"fairrun/stats/words"
)

// Freedom counts what the runs of a plan are spent on, in degrees of freedom, when every run
// succeeds: Runs = Blocks + Drift + Covariates + Treatments + Residual. Runs are those analysed; Blocks has the
// overall mean in it. Whole plots are counted among the runs: package order tells strata apart.
type Freedom struct {
	Runs, Blocks, Drift, Covariates, Treatments int
	Residual                                    int // left to estimate the noise; below one the plan is refused
}

// Freedom returns how the plan spends its runs. Treatments is one less than the number of
// treatments with Interactions or one factor, and otherwise the levels of each factor but one.
func (c *Plan) Freedom() Freedom {
	f := Freedom{
		Runs:   c.Block.Count * c.AnalysedPerBlock(),
		Blocks: c.Block.Count,
		Drift:  c.Drift.parameters(c.Block.Count, c.AnalysedPerBlock()),
	}
	if c.Interactions || len(c.Factors) == 1 {
		f.Treatments = c.countTreatments() - 1
	} else {
		for _, factor := range c.Factors {
			f.Treatments += len(factor.Levels) - 1
		}
	}
	f.Covariates = len(c.Analysis.Covariates)
	f.Residual = f.Runs - f.Blocks - f.Drift - f.Covariates - f.Treatments
	return f
}

// baselines checks that a comparison with the baseline has one.
func (r *planReader) baselines(root *table, c *Plan) {
	if c.Analysis.Compare != CompareBaseline {
		return
	}
	at := root.byKey["analysis"].value.table.byKey["compare"].value.at
	levels := make([]string, len(c.Factors))
	var without []string
	for i, f := range c.Factors {
		levels[i] = f.Baseline
		if f.Baseline == "" {
			without = append(without, f.Name)
		}
	}
	if without != nil {
		r.add(at, "compare is \"baseline\", but there is none for "+words.List(without, 12), "add baseline = …, one of the levels, to each")
		return
	}
	if c.Chosen == nil || !c.Interactions {
		return
	}
	base := Treatment{Levels: levels}.String()
	for _, t := range c.Treatments() {
		if t.String() == base {
			return
		}
	}
	r.add(at, fmt.Sprintf("compare is \"baseline\", but the baselines together, %q, are none of the chosen treatments", base), "add that treatment, or change the baselines")
}

// looks checks that there is a block for each look: a look comes after a block is done.
func (r *planReader) looks(root *table, c *Plan) {
	if c.Analysis.Looks <= c.Block.Count {
		return
	}
	at := root.byKey["analysis"].value.table.byKey["looks"].value.at
	r.add(at, fmt.Sprintf("%d looks need at least %s, one before each look; the plan has %d", c.Analysis.Looks, c.Block.many(c.Analysis.Looks), c.Block.Count),
		fmt.Sprintf("write looks = %d or less", c.Block.Count))
}
