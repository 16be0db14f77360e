package size

import (
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
)

// unlike reports whether whole plots stand in blocks that are not alike, or their places or
// neighbours count, so that precision depends on the order and not on counts alone.
func unlike(p order.Spec) bool {
	return p.WholePlots != nil && (p.Runs > 0 || p.Drift == order.Position || p.CarryOver)
}

// precisionOf returns the precision by blocks of the least precise comparison of a family in an order
// whose whole plots are unlike, for a spread between them; the variance falls as the number of blocks
// grows. known is false where some comparison cannot be made.
func (s family) precisionOf(drawn *order.Drawn, spread float64) (g power.Growth, known bool) {
	c := s.plan
	d := question.Compared(sheet.Blank(c, drawn))
	if s.Average {
		d.Treatments = question.Analysed(sheet.Blank(c, drawn)).Factors()
	}
	fit := AssumePlots(d, spread)
	k := slices.IndexFunc(d.Treatments, func(f linmod.Factor) bool { return f.Name == s.name() })
	if fit == nil || k < 0 {
		return g, false
	}
	weakest := 0.0
	for j := range d.Treatments[k].Levels {
		for i := range j {
			weakest = max(weakest, fit.Difference(k, j, i))
		}
	}
	stratum, taken := 1, s.design.CarryOver // which is seen from run to run, within whole plots
	if s.between() {
		stratum, taken = 0, 0
	}
	plan := drawn.Plan
	plan.Effects = sheet.Effects(c)
	return power.Growth{Least: 1, At: func(blocks int) power.Precision {
		p := plan
		p.Blocks = blocks
		return power.Precision{
			SE: math.Sqrt(weakest * question.Inflation(c) * float64(c.Block.Count) / float64(blocks)),
			DF: float64(p.Strata()[stratum].DF - taken),
		}
	}}, true
}

// hardFamily reports whether the least precise comparisons of a family are between whole plots.
func hardFamily(c *design.Plan, factor string) bool {
	for _, f := range c.Factors {
		if f.Name == factor {
			return f.HardToChange
		}
	}
	return true // combinations of hard and easy factors
}

// plots is what a plan with whole plots offers: in each block one of each setting of the
// factors that are hard to change, or in incomplete blocks of some of them.
type plots struct {
	settings int
	perBlock int // whole plots in a block
	runs     int // in a whole plot, where all are alike
	hard     int // degrees of freedom of the terms between whole plots
	easy     int // of those within
}

// plotsOf are the whole plots of a plan; nil when it has none.
func plotsOf(c *design.Plan) *plots {
	numbers := c.WholePlots()
	if numbers == nil {
		return nil
	}
	p := &plots{}
	for _, n := range numbers[:c.TreatmentsPerBlock()] {
		p.settings = max(p.settings, n+1)
	}
	p.perBlock = p.settings
	if c.Block.Runs > 0 {
		p.perBlock = sheet.OrderPlan(c).PlotsPerBlock()
	}
	p.runs = c.DrawnPerBlock() / p.perBlock
	terms := c.Freedom().Treatments
	if c.Interactions && len(c.Factors) > 1 {
		p.hard = p.settings - 1
	} else {
		for _, f := range c.Factors {
			if f.HardToChange {
				p.hard += len(f.Levels) - 1
			}
		}
	}
	p.easy = terms - p.hard
	return p
}

// between says whether the least precise comparison of a family is one between whole
// plots.
func (s family) between() bool {
	return s.plots != nil && hardFamily(s.plan, s.name())
}

// byBlocks is the precision of the least precise comparison of a family by blocks.
//
// Without whole plots it is [power.Design.ByBlocks]. With them, for S settings in
// each of b blocks, m runs in a whole plot and a spread of w between whole plots
// over the noise between runs,
//
//	levels of a hard factor   SE = √(2 (w² + 1/m) / n),       n = bS/levels whole plots of each
//	levels of an easy factor  SE = √(2/n),                    n = bSm/levels runs of each
//	combinations              SE = √(2 (w²/b + 1/n)),         n = bSm/combinations runs of each
//
// with bS − b − (terms between) degrees of freedom for the first and, as what
// they have at the least, the last, and bSm − bS − drift − (terms within) for the
// second. Where blocks are not alike it is that of an order of the plan (see precisionOf).
func (s family) byBlocks(spread float64) power.Growth {
	if s.plots == nil {
		return s.design.ByBlocks()
	}
	if s.drawn != nil && unlike(s.drawn.Plan) {
		if g, known := s.precisionOf(s.drawn, spread); known {
			return g
		}
	}
	p, eff := s.plots, s.design.Efficiency
	return power.Growth{Least: 1, At: func(blocks int) power.Precision {
		b, levels := float64(blocks), float64(s.count())
		whole := b * float64(p.settings)
		runs := whole * float64(p.runs)
		variance := 2 * levels / runs
		df := runs - whole - float64(s.design.Drift+s.design.CarryOver) - b*float64(s.design.OwnDrift) - float64(p.easy)
		if s.between() {
			df = whole - b - float64(p.hard)
			if s.single() {
				variance = 2 * (spread*spread + 1/float64(p.runs)) * levels / whole
			} else {
				variance += 2 * spread * spread / b
			}
		}
		return power.Precision{SE: math.Sqrt(variance / eff), DF: df}
	}}
}

// single says whether the family is of one factor's levels.
func (s family) single() bool {
	for _, f := range s.plan.Factors {
		if f.Name == s.name() {
			return true
		}
	}
	return false
}

// moreBlocks is the precision after further blocks on top of what there is now.
// With whole plots, what they add is as much as those done have: SE falls like
// 1/√blocks, whatever the spread between whole plots is.
func (s family) moreBlocks(now power.Precision) power.Growth {
	if s.specimens != nil && !math.IsInf(now.SE, 1) {
		return s.furtherBlocks(now)
	}
	if s.plots == nil {
		d := s.design
		d.Blocks = max(1, int(math.Round(s.done)))
		return d.MoreBlocks(now)
	}
	perBlock := s.plan.DrawnPerBlock() - s.plots.perBlock - s.design.OwnDrift
	if s.between() {
		perBlock = s.plots.perBlock - 1
	}
	return power.Growth{At: func(n int) power.Precision {
		return power.Precision{SE: now.SE * math.Sqrt(s.done/(s.done+float64(n))), DF: now.DF + float64(n*perBlock)}
	}}
}
