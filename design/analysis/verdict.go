package analysis

import (
	"context"
	"slices"

	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// Draws is how many fresh orders a randomisation test takes unless another
// number is asked for.
const Draws = 10_000

// Verdict judges what a run sheet holds so far by its plan, with the
// randomisation test over up to [Draws] orders.
func Verdict(ctx context.Context, s *sheet.Sheet) (*verdict.Verdict, error) {
	return VerdictOver(ctx, s, Draws)
}

// VerdictOver is [Verdict] with the randomisation test over up to so many orders;
// with none the test is left out.
func VerdictOver(ctx context.Context, s *sheet.Sheet, draws int) (*verdict.Verdict, error) {
	d, q := question.Of(s)
	l := looksOf(s)
	q.Growth = size.Growth(s)
	var checks []verdict.Check
	if draws > 0 {
		var err error
		if d.Draw, err = question.Draw(s, draws); err != nil {
			checks = append(checks, verdict.Remark("randomisation", true, "not checked: %v", err))
		}
	}
	v, err := verdict.Analyse(ctx, d, q)
	if err != nil {
		return nil, err
	}
	checks = slices.Concat(checks, aliases(s), extensions(ctx, s, l), betweenPlots(s), betweenSpecimens(s), moved(s), unexplained(s), edits(ctx, s, v))
	freed := interactions(ctx, s, v)
	if err := ctx.Err(); err != nil { // which cut short what was said last
		return nil, err
	}
	for i := range v.Responses {
		r := &v.Responses[i]
		if freed[i] != nil {
			r.Checks = append(r.Checks, *freed[i])
		}
		r.Checks = slices.Concat(l.check(r, s.Campaign.Block), r.Checks, checks)
	}
	return v, nil
}
