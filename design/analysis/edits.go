package analysis

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// edits says what changed in the plan between the draw and now. Changes that can
// bend a result (what matters, how it is judged, what is measured) are parted from those
// that cannot; with results in, the verdicts by the plan as drawn are compared with
// these.
func edits(ctx context.Context, s *sheet.Sheet, v *verdict.Verdict) []verdict.Check {
	var bending, harmless []string
	for _, change := range s.Changes {
		if bends(change) {
			bending = append(bending, change)
		} else {
			harmless = append(harmless, change)
		}
	}
	var out []verdict.Check
	if len(bending) > 0 {
		when := "before any result"
		flag := question.ProgressOf(s).Share > 0
		if flag {
			when = "and there are results, which it may have been fitted to"
		}
		out = append(out, verdict.Remark("plan", flag, "the plan was changed after the order was drawn, %s: %s%s", when, strings.Join(bending, "; "), asDrawn(ctx, s, v)))
	}
	if len(harmless) > 0 {
		out = append(out, verdict.Remark("plan", false, "the plan was changed after the order was drawn, in what no verdict depends on: %s", strings.Join(harmless, "; ")))
	}
	return out
}

// bends says whether a change of the plan, as [design.Differences] words it, can bend a
// result.
func bends(change string) bool {
	for _, free := range []string{"title ", "scope ", "order of ", "reading ", "budget", "session: hours ", "analysis: power "} {
		if strings.HasPrefix(change, free) {
			return false
		}
	}
	return !strings.Contains(change, ": noise was ") && !strings.Contains(change, ": unit was ")
}

// asDrawn says which verdicts would be others by the plan as it was drawn: its margins,
// scales, alpha, family, looks and drift, for the responses that both plans have.
func asDrawn(ctx context.Context, s *sheet.Sheet, v *verdict.Verdict) string {
	var drawn design.Plan
	if json.Unmarshal(s.Draw.Plan, &drawn) != nil {
		return ""
	}
	plan := *s.Campaign
	plan.Analysis, plan.Drift, plan.Interactions = drawn.Analysis, drawn.Drift, drawn.Interactions
	plan.Responses = slices.Clone(plan.Responses)
	for i := range plan.Responses {
		if k := slices.IndexFunc(drawn.Responses, func(r design.Response) bool { return r.Name == plan.Responses[i].Name }); k >= 0 {
			plan.Responses[i] = drawn.Responses[k]
		}
	}
	then := *s
	then.Campaign = &plan
	d, q := question.Of(&then)
	old, err := verdict.Analyse(ctx, d, q)
	if err != nil {
		return ""
	}
	var others []string
	for i := range v.Responses {
		for _, c := range v.Responses[i].Comparisons {
			for _, o := range old.Responses[i].Comparisons {
				if o.Factors.Term() == c.Factors.Term() && o.Level == c.Level && o.Against == c.Against && o.Verdict != c.Verdict {
					others = append(others, fmt.Sprintf("%s: %s against %s would be %s, not %s", v.Responses[i].Name, c.Level, c.Against, o.Verdict, c.Verdict))
				}
			}
		}
		now, then := v.Responses[i].Best, old.Responses[i].Best
		if !slices.Equal(now, then) && len(now) > 0 && len(then) > 0 {
			others = append(others, fmt.Sprintf("%s: the best would be %s, not %s", v.Responses[i].Name, strings.Join(then, " or "), strings.Join(now, " or ")))
		}
	}
	for _, r := range drawn.Responses {
		if !slices.ContainsFunc(s.Campaign.Responses, func(now design.Response) bool { return now.Name == r.Name }) {
			others = append(others, r.Name+" would be judged, too")
		}
	}
	switch n := len(others); {
	case n == 0:
		return ". By the plan as drawn every verdict would be the same"
	case n > 5:
		others = append(others[:5:5], fmt.Sprintf("and %d more", n-5))
	}
	return ". By the plan as drawn " + strings.Join(others, "; ")
}
