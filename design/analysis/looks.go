package analysis

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/compare"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// looks are the looks at a campaign, in words.
type looks struct {
	question.LookPlan

	// mixed says that the fold-over of a screen is still to be run: what is judged now is each
	// effect together with what it is mixed with, and is judged again by itself.
	mixed bool
}

func looksOf(s *sheet.Sheet) looks {
	return looks{question.Looks(s), s.Campaign.FoldedApart() && !bothPartsRun(s)}
}

// check says what may be concluded from a response at this look and what remains, and
// the price of a look that was not planned.
func (l looks) check(r *verdict.Response, block design.Block) []verdict.Check {
	const name = "looks"
	if l.Planned == 1 {
		if l.Now.Share == 0 || l.Now.Share == 1 {
			return nil
		}
		return []verdict.Check{verdict.Remark(name, true, "%s", l.unplanned(block))}
	}
	flag, text := false, ""
	switch {
	case l.Now.Complete == 0:
		text = fmt.Sprintf("no %s is complete: nothing is concluded before the first look, after %s", block.Name, block.Many(l.Points[0]))
	case !slices.Contains(l.Points, l.Now.Complete):
		flag = true
		text = l.between(block)
	default:
		text = fmt.Sprintf("this is look %d of %d, after %d of %s", len(l.Taken(l.Now.Complete)), len(l.Points), l.Now.Complete, block.Many(l.Now.Blocks))
	}
	if l.Now.Complete > 0 {
		text += l.conclusions(r, block)
	}
	if len(l.Now.Begun) > 0 {
		text += fmt.Sprintf(". %s %s %s not complete: the runs there are in the estimates, but do not count towards the look",
			block.Name, words.List(words.Numbers(l.Now.Begun), mostRuns), words.Agree(len(l.Now.Begun), "is", "are"))
	}
	return []verdict.Check{verdict.Remark(name, flag, "%s", text)}
}

// conclusions says what stands and what is open.
func (l looks) conclusions(r *verdict.Response, block design.Block) string {
	of := map[compare.Word]int{}
	for _, c := range r.Comparisons {
		of[c.Verdict]++
	}
	var settled []string
	for _, w := range []compare.Word{compare.Matters, compare.Real, compare.Trivial, compare.Equal} {
		if of[w] > 0 {
			settled = append(settled, fmt.Sprintf("%d %s", of[w], w))
		}
	}
	text := ""
	if r.Looks != nil && r.Looks.Level.Known() {
		text = fmt.Sprintf("; an adjusted p is compared with %.3g, so that all looks together keep false alarms to %s", float64(r.Looks.Level), percent(l.Alpha))
	}
	switch {
	case len(settled) > 0 && l.mixed:
		text += "; concluded of effects together with what these runs mix with them, and judged again with the fold-over: " + strings.Join(settled, ", ")
	case len(settled) > 0:
		text += "; concluded, whatever later looks bring: " + strings.Join(settled, ", ")
	default:
		text += "; nothing is concluded yet"
	}
	if n := of[compare.Unresolved]; n > 0 {
		text += fmt.Sprintf("; still open: %d", n)
	}
	after := l.Now.Complete
	if !slices.Contains(l.Points, after) {
		after = l.Next(after) // whose place this look takes
	}
	if next := l.Next(after); next > 0 {
		return text + fmt.Sprintf("; the next look is after %s", block.Many(next))
	}
	return text + "; this is the last look"
}

// unplanned says the price of looking at a campaign that is under way when its plan has
// one look, at the end.
func (l looks) unplanned(block design.Block) string {
	end := float64(l.Now.Blocks)
	var before []float64
	for _, p := range l.Points {
		if f := float64(p) / end; f < l.Now.Share {
			before = append(before, f)
		}
	}
	now := power.FalseAlarms(l.Alpha, append(before, l.Now.Share, 1))
	text := fmt.Sprintf("the plan has one look, at the end, and %d of %s are complete: judging now and again at the end, at the same level, raises false alarms from %s to about %s",
		l.Now.Complete, block.Many(l.Now.Blocks), percent(l.Alpha), percent(now))
	if l.Now.Blocks > 2 && l.Now.Blocks <= 100 {
		var each []float64
		for b := 1; b <= l.Now.Blocks; b++ {
			each = append(each, float64(b)/end)
		}
		text += fmt.Sprintf(", and judging after every %s to about %s", block.Name, percent(power.FalseAlarms(l.Alpha, each)))
	}
	return text + "; conclude at the end, or plan looks in the next campaign"
}

// between says what a look that comes between those planned does.
func (l looks) between(block design.Block) string {
	var after []string
	for _, p := range l.Points {
		after = append(after, strconv.Itoa(p))
	}
	text := fmt.Sprintf("%d of %s are complete, and looks are planned after %s", l.Now.Complete, block.Many(l.Now.Blocks), strings.Join(after, ", "))
	next := l.Next(l.Now.Complete)
	if next == 0 {
		return text
	}
	all := append(slices.Clone(l.Points), l.Now.Complete)
	slices.SortFunc(all, cmp.Compare)
	return text + fmt.Sprintf("; this one takes the place of that after %d, and if that is taken too, false alarms rise from %s to about %s", next, percent(l.Alpha), percent(l.FalseAlarms(all, l.End)))
}

// percent writes a chance.
func percent(p float64) string {
	return strconv.FormatFloat(100*p, 'g', 3, 64) + " %"
}
