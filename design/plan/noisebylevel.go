package plan

import "fairrun/design"

// noiseByLevel reports what a plan has in which levels cannot be judged by a noise of their own.
func (r *planReader) noiseByLevel(c *design.Plan, t *table) {
	if t == nil || c.Analysis.Noise != design.NoiseByLevel {
		return
	}
	why := ""
	switch {
	case c.Block.Runs > 0:
		why = c.Block.Plural() + " do not hold every treatment"
	case c.Specimens != nil && c.Specimens.Count > 1:
		why = "several " + c.Specimens.Plural() + " are tested"
	case c.WholePlots() != nil:
		why = "a factor is hard to change"
	case c.Order.CarryOver:
		why = "carry_over is in the model"
	case c.Block.Count == 1 && (!c.Block.Fixed || c.Block.Replicates == 1):
		why = "there is one " + c.Block.Name
	default:
		return
	}
	r.section(t, "[analysis]").add(t.byKey["noise"].value.at, "levels cannot be judged by a noise of their own: "+why, "leave noise out, or change the plan; scale = \"log\" helps where scatter grows with the mean")
}
