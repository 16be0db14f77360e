package rehearse

import (
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/judge"
	"fairrun/stats/linmod"
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

// factor is what a family of comparisons is about: a factor of the plan, or the combinations of all, or a factor averaged over
// the others.
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

// factors lists what is compared: the families of the plan.
func factors(c *design.Plan) []factor {
	treatments := c.Treatments()
	var out []factor
	for _, family := range question.Families(c) {
		own := factor{Factor: judge.Factor{Levels: len(family.Levels), Baseline: -1, Average: family.Average}, factors: family.Factors, labels: family.Levels}
		if len(family.Factors) > 1 {
			own.Baseline = c.BaselineTreatment()
			for t := range treatments {
				own.Code = append(own.Code, t)
			}
			out = append(out, own)
			continue
		}
		k := slices.IndexFunc(c.Factors, func(f design.Factor) bool { return f.Name == family.Factors[0] })
		own.Baseline = slices.Index(family.Levels, c.Factors[k].Baseline)
		own.Trends = linmod.Trends(verdict.LevelValues(family.Levels)) != nil
		for _, t := range treatments {
			own.Code = append(own.Code, slices.Index(family.Levels, t.Levels[k]))
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

// fitted are the factors that are terms of the model: averages come last.
func (f *setup) fitted() []factor {
	return f.factors[:len(f.factors)-len(averages(f.factors))]
}

// averages are those over the others.
func averages(factors []factor) []factor {
	k := slices.IndexFunc(factors, func(f factor) bool { return f.Average })
	if k < 0 {
		return nil
	}
	return factors[k:]
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
	if drift.Model == design.DriftCurve {
		m.Drift = f.curve(drift.Own)
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

// curve is a curve over position.
func (f *setup) curve(own bool) []judge.Drift {
	var out []judge.Drift
	for s := range f.slots() {
		for k, v := range design.Curve(s%f.length+1, f.plan.Order.Warmup+1, f.length) {
			if s == 0 {
				out = append(out, judge.Drift{Own: own})
			}
			out[k].Value = append(out[k].Value, v)
		}
	}
	return out
}
