package size

import (
	"fmt"
	"math"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// specimensDiffer says why the number of blocks is not the question when there are several
// specimens; "" when it is.
func specimensDiffer(c *design.Plan, r *verdict.Response, noise power.Scatter) string {
	if c.Specimens == nil || c.Specimens.Count < 2 || !(noise.SD > 0) {
		return ""
	}
	for _, d := range r.Noise.Differences {
		for _, p := range d.Parts {
			if p.Item == c.Specimens.Name && p.SD > 0 {
				return fmt.Sprintf("the %s do not answer alike, and more %s on the same %d do not average that out: it takes more %s",
					c.Specimens.Plural(), c.Block.Plural(), c.Specimens.Count, c.Specimens.Plural())
			}
		}
	}
	return ""
}

// blocksDiffer says what numbers of blocks rest on when the treatments do not do the same in all of
// them; "" when they do as far as is known, or several specimens tell anyway.
func blocksDiffer(c *design.Plan, r *verdict.Response) string {
	for _, k := range r.Checks {
		if k.Name == verdict.CrossingCheck+c.Block.Name && k.Flag {
			return fmt.Sprintf("the levels do not do the same in every %s; the numbers here are for %s like these, by how far those done agree, not by the noise within one",
				c.Block.Name, c.Block.Plural())
		}
	}
	return ""
}

// acrossBlocks is the family judged by how far b blocks agree on its L levels, as a sample of blocks to come:
// the standard error of a difference is that of its parts, on (L − 1)(b − 1) degrees of freedom, and further blocks add as
// much as those done have.
func (s family) acrossBlocks(r *verdict.Response) family {
	for _, d := range r.Noise.Differences {
		for _, p := range d.Parts {
			if b := float64(p.PerLevel); d.Factors.Term() == s.name() && p.Item == s.plan.Block.Name && p.Item != p.Name && p.SD > 0 && b > 1 {
				s.agreed = &power.Precision{SE: float64(d.SE/r.Noise.SD) * math.Sqrt(question.Inflation(s.plan)), DF: float64(d.Levels-1) * (b - 1)}
			}
		}
	}
	return s
}
