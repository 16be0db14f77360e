package render

import (
	"fmt"

	"fairrun/design/size"
	"fairrun/stats/words"
)

// sameRuns says what the runs of a plan find shared out over more blocks or fewer; "" where the plan does best already.
func sameRuns(r *size.Replicates, z *size.FamilySize) string {
	if len(z.SameRuns) == 0 || z.SameRuns[0].Blocks <= z.Now.Blocks {
		return ""
	}
	var each []string
	for _, a := range z.SameRuns {
		what := fmt.Sprintf("as %d × %d in %s", a.Blocks, a.Replicates, chanceOfFinding(a.Power))
		if a.Hours.Known() {
			what += " (" + timeOf(a.Hours) + ")"
		}
		each = append(each, what)
	}
	return fmt.Sprintf(" The same %d runs, %s × runs of each treatment, find it %s.", z.Now.Runs, r.Blocks, words.And(each))
}
