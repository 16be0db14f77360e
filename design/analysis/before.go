package analysis

import (
	"math"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

func replicates(c *design.Plan, stage string) *Replicates {
	out := &Replicates{Schema: "fairrun.replicates/1", Campaign: verdict.Campaign{Title: c.Title, Scope: c.Scope, Holds: holds(c)}, Stage: stage,
		Block: c.Block.Name, Alpha: c.Analysis.Alpha, Power: c.Analysis.Power, Compare: c.Analysis.Compare,
		Looks: c.Analysis.Looks, Inflation: verdict.Number(inflation(c)), Spread: verdict.Unknown, Units: unitsOf(c), Responses: []Enough{}}
	if c.Units != nil {
		out.Unit = c.Units.Name
	}
	return out
}

// unitsOf counts the units of a plan, 0 where it does not say.
func unitsOf(c *design.Plan) int {
	if c.Units == nil {
		return 0
	}
	return c.Units.Count
}

// kept is the share of information that drift and incomplete blocks leave in an
// order; all where there is none.
func kept(d *order.Drawn) float64 {
	if d == nil {
		return 1
	}
	return d.Efficiency * d.BlockEfficiency
}

// assumed is what a response's margin and assumed noise ask for, on the scale
// of the analysis. A relative noise v is a standard deviation of logs of
// √log(1+v²), as for the lognormal law.
func assumed(r design.Response) (power.Target, terms, error) {
	in := terms{log: r.Scale == design.ScaleLog}
	switch {
	case !r.Margin.Set:
		return power.Target{}, in, errNoMargin
	case !r.Noise.Set:
		return power.Target{}, in, errNoNoise
	case r.Margin.Relative != r.Noise.Relative:
		return power.Target{}, in, errUnits
	}
	sd := r.Noise.Value
	if in.log {
		sd = math.Sqrt(math.Log1p(sd * sd))
	}
	return power.Target{Margin: in.from(r.Margin.Value), Noise: power.Noise{SD: sd}}, in, nil
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
