package size

import (
	"fmt"

	"fairrun/design"
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
