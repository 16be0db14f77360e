package analysis

import (
	"strings"

	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// betweenPlots says how much stands behind the levels that are hard to change.
func betweenPlots(s *sheet.Sheet) []verdict.Check {
	if s.Draw.Order.Plan.WholePlots == nil {
		return nil
	}
	var hard []string
	for _, f := range s.Campaign.Factors {
		if f.HardToChange {
			hard = append(hard, f.Name)
		}
	}
	return []verdict.Check{verdict.Remark("whole plots", false,
		"%s is set once for a whole plot, so its effect rests on %s of each setting, however many runs they hold",
		strings.Join(hard, " and "), words.Count(s.Draw.Order.Strata()[0].Replicates, question.WholePlot))}
}

// mostRuns is how many runs a message lists.
const mostRuns = 10

// moved says which runs were not made in the order drawn.
func moved(s *sheet.Sheet) []verdict.Check {
	o := s.DoneOrder()
	if len(o.Moved) == 0 {
		return nil
	}
	return []verdict.Check{verdict.Remark("order made", true,
		"runs %s were not made at the place drawn; the drift is judged by the order in which the runs were made, but the draw no longer keeps it apart from the settings, and the randomisation test holds only if runs were moved for reasons that have nothing to do with their settings", words.List(words.Numbers(o.Moved), mostRuns))}
}

// unexplained says which runs were voided without saying why.
func unexplained(s *sheet.Sheet) []verdict.Check {
	var runs []int
	for i := range s.Runs {
		if r := &s.Runs[i]; r.Status == sheet.Void && strings.TrimSpace(r.Note) == "" {
			runs = append(runs, r.Run)
		}
	}
	if len(runs) == 0 {
		return nil
	}
	what := "runs " + words.List(words.Numbers(runs), mostRuns) + " are"
	if len(runs) == 1 {
		what = "run " + words.List(words.Numbers(runs), mostRuns) + " is"
	}
	return []verdict.Check{verdict.Remark("void runs", true, "%s void without a reason: a run that is left out because of its value bends the result; say in its note what spoiled it", what)}
}

// betweenSpecimens says what the comparisons are judged by when there are specimens, and how
// many stand behind them.
func betweenSpecimens(s *sheet.Sheet) []verdict.Check {
	c := s.Campaign
	u := c.Specimens
	switch {
	case u == nil:
		return []verdict.Check{verdict.Remark("specimens", false, "the runs speak of what was tested alone (%s): nothing here says whether others of its type answer alike; several of them would, with [specimens] in the plan", c.Scope)}
	case u.Count == 1:
		return []verdict.Check{verdict.Remark("specimens", true, "one %s was tested, however many runs: nothing here says whether others of its type answer alike", u.Name)}
	}
	var names []string
	for _, f := range c.Factors {
		names = append(names, f.Name)
	}
	return []verdict.Check{verdict.Remark("specimens", false, "differences between levels of %s are judged by how far %d %s agree on them: %s stand behind each, however many runs they made",
		strings.Join(names, " and "), u.Count, u.Plural(), u.Many(u.Count))}
}
