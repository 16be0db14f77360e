package render

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/size"
	"fairrun/stats/compare"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// nextStep says what to do about what is open: in further blocks and as a command, where there is a plan.
func nextStep(r *verdict.Response, st Standing) string {
	if r.Margin == nil || r.Runs.Todo > 0 && st.Plan != nil {
		return ""
	}
	read, _ := toRead(r)
	if st.Plan == nil {
		return furtherRuns(read)
	}
	if st.Further == nil {
		return ""
	}
	open := withWord(read, compare.Unresolved)
	if open == nil && withWord(read, compare.Real) == nil {
		return "Next: nothing; no comparison is open."
	}
	block := st.Plan.Block
	extend := func(n int) string { return command("extend%s --blocks %d", st.In, n) }
	several := func(n int) string { return words.CountOf(n, "further "+block.Name, "further "+block.Plural()) }
	settle, never := settledBy(read, st.Plan), []string(nil)
	found, neverFound := 0, false
	if settle == 0 {
		e := st.Further(r)
		asked := factors(read)
		e.Sizes = slices.DeleteFunc(slices.Clone(e.Sizes), func(z size.FamilySize) bool { return !slices.Contains(asked, z.Factors.Term()) })
		if e.Message != "" {
			return "Next: no number of further " + block.Plural() + " can be given: " + e.Message + "."
		}
		settle, never = settling(e)
		found, neverFound = finding(e)
	}
	switch {
	case open != nil && settle > 0 && never == nil:
		return fmt.Sprintf("Next: %s %s %s, whatever %s true size: %s", several(settle), words.Agree(settle, "settles", "settle"), openList(open), words.Agree(len(open), "its", "their"), extend(settle))
	case open != nil && never != nil:
		return fmt.Sprintf("Next: no affordable number of %s settles %s: widen the margin, or make the bench quieter.", block.Plural(), openList(never))
	case neverFound:
		return fmt.Sprintf("Next: no affordable number of %s finds the margin: widen it, or make the bench quieter.", block.Plural())
	case found > 0:
		return fmt.Sprintf("Next: %s %s a difference of %s with a chance of %s: %s", several(found), words.Agree(found, "finds", "find"), margin(r), inTerms(verdict.Number(st.Plan.Analysis.Power), true, "", 4), extend(found))
	}
	return "Next: what is done is enough to find the margin; what is real and reaches into it may be on either side."
}

// settledBy is how many further blocks settle all that is open, by the replicates that the verdict asks for; 0 where nothing is,
// or where it has no number for one.
func settledBy(r *verdict.Response, plan *design.Plan) int {
	each := float64(plan.DrawnPerBlock()) / float64(len(plan.Treatments()))
	most := 0
	for _, c := range r.Comparisons {
		switch {
		case c.Verdict == compare.Unresolved && c.More == nil:
			return 0
		case c.Verdict == compare.Unresolved:
			most = max(most, 1+int(math.Floor(float64(*c.More-1)/each+1e-9)))
		}
	}
	return most
}

// withWord names the comparisons of a word.
func withWord(r *verdict.Response, w compare.Word) []string {
	var out []string
	for _, c := range r.Comparisons {
		if c.Verdict == w {
			out = append(out, c.Level+" against "+c.Against)
		}
	}
	return out
}

// openList names some comparisons.
func openList(names []string) string { return words.List(names, 3) }

// settling is how many further blocks settle all that is open, and what no affordable number does.
func settling(e size.ResponseSize) (blocks int, never []string) {
	for _, z := range e.Sizes {
		for _, o := range z.Open {
			if o.Needed == nil {
				never = append(never, o.Level+" against "+o.Against)
				continue
			}
			blocks = max(blocks, o.Needed.Blocks)
		}
	}
	return blocks, never
}

// finding is how many further blocks find the margin, to be on the safe side; never where no affordable number does.
func finding(e size.ResponseSize) (blocks int, never bool) {
	for _, z := range e.Sizes {
		switch {
		case z.Needed == nil:
			never = true
		case z.Assured != nil:
			blocks = max(blocks, z.Assured.Blocks)
		default:
			blocks = max(blocks, z.Needed.Blocks)
		}
	}
	return blocks, never
}

// furtherRuns says how many further runs of each level settle what is open, without a plan to say in what blocks.
func furtherRuns(r *verdict.Response) string {
	if line := outOfReach(r); line != "" {
		return line
	}
	most := 0
	for _, c := range r.Comparisons {
		if c.More != nil {
			most = max(most, *c.More)
		}
	}
	if most == 0 {
		return ""
	}
	open := withWord(r, compare.Unresolved)
	return fmt.Sprintf("Next: %s of each level %s %s, whatever %s true size.", words.Count(most, "further run"), words.Agree(most, "settles", "settle"), openList(open), words.Agree(len(open), "its", "their"))
}
