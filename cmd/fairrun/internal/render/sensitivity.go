package render

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// Finds adds a line for each response: what the plan finds, and what would do if that is not enough.
func Finds(d *Document, c *design.Plan, finds []size.Sensitivity) {
	for i := range finds {
		d.Text("%s", smallest(c, &finds[i]))
	}
}

// smallest says what a plan finds of one response.
func smallest(c *design.Plan, f *size.Sensitivity) string {
	of := ""
	if f.FamilyCount > 1 {
		of = " of levels of " + f.Factors.Term()
	}
	margin := inTerms(verdict.Number(f.Margin.Value), f.Margin.Relative, f.Unit, 6)
	text := fmt.Sprintf("%s: in an average comparison%s this plan finds a difference of %s with a chance of %s", f.Name, of,
		inTerms(f.Detectable, f.Margin.Relative, f.Unit, 3), inTerms(verdict.Number(c.Analysis.Power), true, "", 4))
	if f.Enough {
		return text + fmt.Sprintf("; the margin is %s.", margin)
	}
	text += fmt.Sprintf(", but the margin of %s with one of %s only", margin, share(float64(f.Power)))
	if f.Needed == nil {
		return text + fmt.Sprintf("; no number of %s up to %d would do: fairrun replicates shows what they find.", c.Block.Plural(), f.Most)
	}
	return text + fmt.Sprintf("; %s would find it: fairrun replicates.", c.Block.Many(f.Needed.Blocks))
}
