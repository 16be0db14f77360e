package rehearse

import (
	"math"

	"fairrun/design"
)

// simulation is the bench that a plan states, or that stands for one which states none.
func simulation(c *design.Plan) *design.Simulation {
	if c.Simulation != nil {
		return c.Simulation
	}
	return c.DefaultSimulation()
}

// newSimulator is the bench that a plan is rehearsed on: voltages are shares of a full pack's, currents
// relative, resistances what makes heat and drop come out as stated.
func newSimulator(c *design.Plan, s *design.Simulation) *Simulator {
	out := &Simulator{Failing: s.Failures, Outlying: s.Outliers, OutlierSize: s.OutlierSize}
	var mean float64
	treatments := c.Treatments()
	for _, t := range treatments {
		current := 1.0
		for _, load := range s.Currents {
			for k, f := range c.Factors {
				if f.Name != load.Factor {
					continue
				}
				for i, level := range f.Levels {
					if level == t.Levels[k] {
						current *= load.Levels[i]
					}
				}
			}
		}
		out.Loads = append(out.Loads, Load{Winding: current, Supply: current})
		mean += current / float64(len(treatments))
	}
	if s.Currents != nil {
		out.Alike = &Load{Winding: mean, Supply: mean}
	}
	runs := float64(c.RunsPerBlock())
	out.Bench = Bench{
		Ambient: s.Ambient, WindingTau: s.WarmUp.Seconds(), WindingRise: s.Heat, Resistance: 1 / warm(s.Ambient),
		RunTime: s.Run.Seconds(), RestTime: s.Rest.Seconds(), SwapTime: s.Swap.Seconds(),
		Pack: Pack{Full: 1, Empty: 1 - s.Sag, Capacity: math.Inf(1), Resistance: s.Drop, Spread: s.PackScatter},
	}
	if s.Used > 0 {
		out.Bench.Pack.Capacity = runs * mean * s.Run.Hours() / s.Used
	}
	nominal := 1 - s.Sag/2 - s.Drop
	for _, r := range s.Responses {
		out.Responses = append(out.Responses, Response{Base: r.Mean, Nominal: nominal, Volts: r.Volts, Copper: r.Copper})
	}
	for b := range c.Block.Count {
		out.Sessions = append(out.Sessions, c.Session.Of(b+1))
		if c.Items != nil {
			out.Packs = append(out.Packs, c.ItemOf(b+1))
		}
	}
	return out
}
