package rehearse

import (
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/judge"
	"fairrun/stats/verdict"
)

// setup is what all campaigns of a plan have in common, in numbers. A slot is a place in the order,
// counted through the blocks.
type setup struct {
	plan     *design.Plan
	drawn    *order.Drawn
	set      *order.Set
	blocks   int
	length   int      // runs of a block, warm-up runs too
	analysed []bool   // of each position
	plots    []int    // setting of the factors that are hard to change, by treatment; nil: there are none
	factors  []factor // whose levels are compared, a family each

	covariates []int   // checks of the plan that adjust the comparisons
	interplay  float64 // how differently specimens, or blocks, answer, in units of the noise
}

// factor is what a family of comparisons is about: a factor of the plan, or the combinations of all.
type factor struct {
	judge.Factor
	factors verdict.Factors
	labels  []string

	// level and against are the comparison that is rehearsed: the two ends of the
	// factor, or the baseline and the end further from it. Sorted order puts them furthest apart.
	level, against int
}

// newSetup draws the first order of a plan.
func newSetup(c *design.Plan, seed uint64) (*setup, error) {
	drawn, err := sheet.NewOrder(c, seed)
	if err != nil {
		return nil, err
	}
	set, err := drawn.Set()
	if err != nil {
		return nil, err
	}
	f := &setup{plan: c, drawn: drawn, set: set, blocks: len(drawn.Blocks), length: drawn.Plan.Length(), plots: drawn.Whole().WholePlots, interplay: simulation(c).Interplay}
	for k, check := range c.Readings {
		if slices.Contains(c.Analysis.Covariates, check.Name) {
			f.covariates = append(f.covariates, k)
		}
	}
	for _, role := range drawn.Plan.Roles() {
		f.analysed = append(f.analysed, role != order.RoleWarmup)
	}
	f.factors = factors(c)
	for i := range f.factors {
		f.factors[i].choose()
	}
	return f, nil
}

// factors lists what is compared: all combinations as they stand if the plan has interactions,
// otherwise each factor on its own.
func factors(c *design.Plan) []factor {
	treatments := c.Treatments()
	if c.Interactions && len(c.Factors) > 1 {
		whole := factor{Factor: judge.Factor{Levels: len(treatments), Baseline: -1}}
		var baseline []string
		for _, f := range c.Factors {
			whole.factors = append(whole.factors, f.Name)
			baseline = append(baseline, f.Baseline)
		}
		base := design.Treatment{Levels: baseline}.String()
		for t, treatment := range treatments {
			whole.labels = append(whole.labels, treatment.String())
			whole.Code = append(whole.Code, t)
			if treatment.String() == base {
				whole.Baseline = t
			}
		}
		return []factor{whole}
	}
	var out []factor
	for k, f := range c.Factors {
		own := factor{Factor: judge.Factor{Levels: len(f.Levels), Baseline: -1}, factors: verdict.Factors{f.Name}, labels: f.Levels}
		for i, level := range f.Levels {
			if level == f.Baseline {
				own.Baseline = i
			}
		}
		for _, t := range treatments {
			for i, level := range f.Levels {
				if level == t.Levels[k] {
					own.Code = append(own.Code, i)
				}
			}
		}
		out = append(out, own)
	}
	return out
}

// choose sets the comparison that is rehearsed.
func (f *factor) choose() {
	last := len(f.labels) - 1
	f.level, f.against = last, max(0, f.Baseline)
	if f.against > last-f.against {
		f.level = 0
	}
}

// several reports whether the plan has more than one specimen.
func (f *setup) several() bool { return f.plan.Specimens != nil && f.plan.Specimens.Count > 1 }

// slots returns the number of places in the order.
func (f *setup) slots() int { return f.blocks * f.length }

// model is what a plan's drift and the covariates given make of the analysis.
func (f *setup) model(drift design.Drift, noted [][]float64) *judge.Model {
	m := &judge.Model{Blocks: f.blocks, Length: f.length, Positions: drift.Model == design.DriftPosition, Noted: noted}
	for _, own := range f.factors {
		m.Factors = append(m.Factors, own.Factor)
	}
	powers := 0
	switch drift.Model {
	case design.DriftLinear:
		powers = 1
	case design.DriftQuadratic:
		powers = 2
	}
	for power := 1; power <= powers; power++ {
		d := judge.Drift{Own: drift.Own}
		for s := range f.slots() {
			x := float64(s%f.length+1) / float64(f.length)
			if power == 2 {
				x *= x
			}
			d.Value = append(d.Value, x)
		}
		m.Drift = append(m.Drift, d)
	}
	return m
}
