package design

// Freedom counts what the runs of a plan are spent on, in degrees of freedom, when every run
// succeeds: Runs = Blocks + Drift + Covariates + Treatments + Residual. Runs are those analysed; Blocks has the
// overall mean in it. Whole plots are counted among the runs: package order tells strata apart.
type Freedom struct {
	Runs, Blocks, Drift, Covariates, CarryOver, Treatments int
	Residual                                               int // left to estimate the noise; below one the plan is refused
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
		f.Treatments = c.CountTreatments() - 1
	} else {
		for _, factor := range c.Factors {
			f.Treatments += len(factor.Levels) - 1
		}
	}
	f.Covariates = len(c.Analysis.Covariates)
	if c.Order.CarryOver {
		f.CarryOver = f.Treatments
	}
	f.Residual = f.Runs - f.Blocks - f.Drift - f.Covariates - f.CarryOver - f.Treatments
	return f
}
