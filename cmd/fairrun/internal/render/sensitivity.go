package render

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// Finds adds what the plan finds of each response, and what would do if that is not enough: a table, or in full a sentence each.
// in is what follows a command to name the campaign's folder.
func Finds(d *Document, c *design.Plan, finds []size.Sensitivity, full bool, in string) {
	if !full && len(finds) > 0 {
		power := inTerms(verdict.Number(c.Analysis.Power), true, "", 4)
		t := Table{Align: "lrrrr", Tight: true, Head: []string{"response", "margin", "found with " + power, "margin found with", "enough for " + power}}
		enough := true
		for i := range finds {
			f := &finds[i]
			name := f.Name
			if f.FamilyCount > 1 {
				name += ", " + f.Factors.Term()
			}
			row := []string{name, inTerms(verdict.Number(f.Margin.Value), f.Margin.Relative, f.Unit, 6), inTerms(f.Detectable, f.Margin.Relative, f.Unit, 3), share(float64(f.Power)), "as planned"}
			if !f.Enough {
				enough = false
				if row[4] = "out of reach"; f.Needed != nil {
					row[4] = c.Block.Many(f.Needed.Blocks)
				}
			}
			t.Rows = append(t.Rows, row)
		}
		if enough {
			d.Heading("The plan finds its margins")
		} else {
			d.Heading("The plan finds less than its margins ask for")
		}
		d.Table(t)
		d.Text("%s says more.", command("replicates%s", in))
		return
	}
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
