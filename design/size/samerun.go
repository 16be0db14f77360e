package size

import (
	"fairrun/design"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// Arrangement is another way to share out the runs of a plan: over more blocks with fewer runs of each treatment in each,
// or over fewer with more.
type Arrangement struct {
	Blocks     int            `json:"blocks"`
	Replicates int            `json:"replicates"` // runs of each treatment in each block
	Power      verdict.Number `json:"power"`
	Detectable verdict.Number `json:"detectable"`
	Hours      verdict.Number `json:"hours"` // null without a budget
}

// arrangements are the ways to share the plan's runs out over blocks that are a sample, those with one run of each treatment in
// each first; empty where there is one way only, or blocks are none.
func (s family) arrangements(c *design.Plan, t power.Target, in terms) []Arrangement {
	out := []Arrangement{}
	if !s.design.Sample {
		return out
	}
	total := c.Block.Count * c.Block.Replicates
	lasts := (&sharing{plan: c}).lasts()
	for each := 1; each <= total/2; each++ {
		if total%each != 0 || each > 1 && each*c.DrawnPerBlock()/c.Block.Replicates > lasts {
			continue
		}
		plan, other := *c, s
		plan.Block.Count, plan.Block.Replicates = total/each, each
		other.plan = &plan
		other.design.Blocks, other.design.Replicates = total/each, each
		at := other.pointAt(t, other.design.Precision(), total/each, in)
		out = append(out, Arrangement{total / each, each, at.Power, at.Detectable, at.Hours})
	}
	if len(out) < 2 {
		return []Arrangement{}
	}
	return out
}
