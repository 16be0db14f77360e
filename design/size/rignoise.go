package size

import (
	"slices"

	"fairrun/design"
	"fairrun/design/plan"
)

// Assumed is the plan with the noise that its rig was measured to have in the place of what the plan does
// not say: to rehearse it, or to explain its order. The plan itself when it names no rig.
func Assumed(c *design.Plan) (*design.Plan, error) {
	n, err := plan.Rely(c)
	if n == nil || err != nil {
		return c, err
	}
	plan := *c
	plan.Responses = slices.Clone(c.Responses)
	for i := range plan.Responses {
		r := &plan.Responses[i]
		if kept := recordedNoise(n, r); !r.Noise.Set && kept.known() {
			in := terms{log: r.Scale == design.ScaleLog}
			r.Noise = design.Amount{Set: true, Value: float64(in.noise(kept.sd)), Relative: in.log || r.Margin.Relative}
		}
	}
	if c.Simulation == nil {
		return &plan, nil
	}
	stated, before, after := *c.Simulation, c.DefaultSimulation(), plan.DefaultSimulation()
	stated.Responses = slices.Clone(stated.Responses)
	for i := range stated.Responses {
		r := &stated.Responses[i]
		if !r.Assumed {
			continue
		}
		if r.Mean == before.Responses[i].Mean { // which no one stated
			r.Mean = after.Responses[i].Mean
		}
		r.Noise, r.Assumed = after.Responses[i].Noise, after.Responses[i].Assumed
	}
	plan.Simulation = &stated
	return &plan, nil
}
