package analysis

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/compare"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// looks are the looks at a campaign's results: those that its plan fixes, and
// the one that is being taken.
//
// A look comes after some number of complete blocks. K looks are spread evenly over
// the blocks of the first draw, the last at the end. An extension that was drawn
// before the end moves the last look to the new end; one that was drawn when all
// blocks were complete comes after a look at the end, and adds one. Which looks a
// person took is not recorded: all that could have been taken as planned count
// as taken, which is never too lenient.
type looks struct {
	alpha    float64
	planned  int // looks, by the plan
	spending power.Spending

	points []int // complete blocks at each look
	ends   []int // those points that were the end of the campaign at the time
	now    progress

	// mixed says that the fold-over of a screen is still to be run: what is judged now is each
	// effect together with what it is mixed with, and is judged anew by itself.
	mixed bool
}

func looksOf(s *sheet.Sheet) looks {
	a := s.Campaign.Analysis
	l := looks{alpha: a.Alpha, planned: a.Looks, spending: spendingOf(s.Campaign), now: progressOf(s)}
	l.mixed = s.Campaign.FoldedApart() && !bothPartsRun(s)
	end := s.Draw.Draws[0].Blocks
	l.points = spread(end, min(a.Looks, end))
	for _, d := range s.Draw.Draws[1:] {
		if progressAt(s, end, d.Time).complete < end {
			l.points = l.points[:len(l.points)-1]
		} else {
			l.ends = append(l.ends, end)
		}
		end += d.Blocks
		l.points = append(l.points, end)
	}
	l.ends = append(l.ends, end)
	return l
}

// spread puts looks evenly over blocks: the k-th after k/looks of them, rounded up.
func spread(blocks, looks int) []int {
	points := make([]int, looks)
	for k := range points {
		points[k] = ((k+1)*blocks + looks - 1) / looks
	}
	return points
}

func spendingOf(c *design.Plan) power.Spending {
	if c.Analysis.Spending == design.SpendingPocock {
		return power.Pocock
	}
	return power.OBrienFleming
}

// taken lists the complete blocks at every look up to the one that is taken after
// so many.
func (l looks) taken(complete int) []int {
	var out []int
	for _, p := range l.points {
		if p < complete {
			out = append(out, p)
		}
	}
	if complete > 0 {
		out = append(out, complete)
	}
	return out
}

// end is the number of blocks that the campaign was to have when so many were complete.
func (l looks) end(complete int) int {
	for _, e := range l.ends {
		if complete <= e {
			return e
		}
	}
	return l.ends[len(l.ends)-1]
}

func share(blocks []int, of int) []float64 {
	var out []float64
	for _, b := range blocks {
		out = append(out, float64(b)/float64(of))
	}
	return out
}

// level is the two-sided level of one comparison at the look after so many blocks of
// a campaign that is to have end.
func (l looks) level(complete, end int) float64 {
	if l.planned == 1 {
		return l.alpha
	}
	all := power.Schedule{Spending: l.spending, Alpha: l.alpha, Fractions: share(l.taken(complete), end)}.Looks()
	return all[len(all)-1].Level
}

// falseAlarms is the chance of a false alarm in one comparison when it is judged
// after each of some numbers of complete blocks, at the level that each of these
// looks has in a campaign that is to have end(blocks) of them.
func (l looks) falseAlarms(blocks []int, end func(int) int) float64 {
	last := float64(l.ends[len(l.ends)-1])
	var list []power.Look
	for _, b := range blocks {
		list = append(list, power.Look{Fraction: float64(b) / last, Level: l.level(b, end(b))})
	}
	sum := 0.0
	for _, p := range power.Crossing(list, 0) {
		sum += p
	}
	return sum
}

// request is what the verdict has to know; nil when the plan has one look.
func (l looks) request(c *design.Plan) *verdict.Looks {
	if l.planned == 1 {
		return nil
	}
	return &verdict.Looks{Spending: l.spending, Of: len(l.points), Fractions: share(l.taken(l.now.complete), l.end(l.now.complete)),
		DF: float64(c.Freedom().Residual), Inflation: inflation(c)}
}

// PlannedLook is a look that a plan fixes.
type PlannedLook struct {
	Blocks int            // complete at this look
	Looks  *verdict.Looks // what the verdict has to know; nil when the plan has one look
}

// PlannedLooks lists the looks of a plan as the verdict takes them when every one is taken
// in its turn: for a plan with one look, the end alone.
func PlannedLooks(c *design.Plan) []PlannedLook {
	end := c.Block.Count
	l := looks{alpha: c.Analysis.Alpha, planned: c.Analysis.Looks, spending: spendingOf(c), points: spread(end, min(c.Analysis.Looks, end)), ends: []int{end}}
	var out []PlannedLook
	for _, blocks := range l.points {
		l.now.complete = blocks
		out = append(out, PlannedLook{Blocks: blocks, Looks: l.request(c)})
	}
	return out
}

// inflation is how many times the information of a plan with one look a plan needs.
func inflation(c *design.Plan) float64 {
	if c.Analysis.Looks == 1 {
		return 1
	}
	return power.Schedule{Spending: spendingOf(c), Alpha: c.Analysis.Alpha, Fractions: share(spread(c.Block.Count, c.Analysis.Looks), c.Block.Count)}.Inflation(c.Analysis.Power)
}

// check says what may be concluded from a response at this look and what remains, and
// the price of a look that was not planned.
func (l looks) check(r *verdict.Response, block design.Block) []verdict.Check {
	const name = "looks"
	if l.planned == 1 {
		if l.now.share == 0 || l.now.share == 1 {
			return nil
		}
		return []verdict.Check{remark(name, true, "%s", l.unplanned(block))}
	}
	flag, text := false, ""
	switch {
	case l.now.complete == 0:
		text = fmt.Sprintf("no %s is complete: nothing is concluded before the first look, after %s", block.Name, words.Count(l.points[0], block.Name))
	case !slices.Contains(l.points, l.now.complete):
		flag = true
		text = l.between(block)
	default:
		text = fmt.Sprintf("this is look %d of %d, after %d of %s", len(l.taken(l.now.complete)), len(l.points), l.now.complete, words.Count(l.now.blocks, block.Name))
	}
	if l.now.complete > 0 {
		text += l.conclusions(r, block)
	}
	if len(l.now.begun) > 0 {
		text += fmt.Sprintf(". %s %s %s not complete: the runs there are in the estimates, but do not count towards the look",
			block.Name, words.List(words.Numbers(l.now.begun), mostRuns), words.Agree(len(l.now.begun), "is", "are"))
	}
	return []verdict.Check{remark(name, flag, "%s", text)}
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
	if r.Look != nil && r.Look.Level.Known() {
		text = fmt.Sprintf("; an adjusted p is held against %.3g, so that all looks together keep false alarms to %s", float64(r.Look.Level), percent(l.alpha))
	}
	switch {
	case len(settled) > 0 && l.mixed:
		text += "; concluded of effects together with what these runs mix with them, and judged anew with the fold-over: " + strings.Join(settled, ", ")
	case len(settled) > 0:
		text += "; concluded, whatever later looks bring: " + strings.Join(settled, ", ")
	default:
		text += "; nothing is concluded yet"
	}
	if n := of[compare.Unresolved]; n > 0 {
		text += fmt.Sprintf("; still open: %d", n)
	}
	after := l.now.complete
	if !slices.Contains(l.points, after) {
		after = l.next(after) // whose place this look takes
	}
	if next := l.next(after); next > 0 {
		return text + fmt.Sprintf("; the next look is after %s", words.Count(next, block.Name))
	}
	return text + "; this is the last look"
}

// next is the number of complete blocks at the look after one, 0 if there is none.
func (l looks) next(complete int) int {
	for _, p := range l.points {
		if p > complete {
			return p
		}
	}
	return 0
}

// unplanned says the price of looking at a campaign that is under way when its plan has
// one look, at the end.
func (l looks) unplanned(block design.Block) string {
	end := float64(l.now.blocks)
	var before []float64
	for _, p := range l.points {
		if f := float64(p) / end; f < l.now.share {
			before = append(before, f)
		}
	}
	now := power.FalseAlarms(l.alpha, append(before, l.now.share, 1))
	text := fmt.Sprintf("the plan has one look, at the end, and %d of %s are complete: judging now and again at the end, at the same level, raises false alarms from %s to about %s",
		l.now.complete, words.Count(l.now.blocks, block.Name), percent(l.alpha), percent(now))
	if l.now.blocks > 2 && l.now.blocks <= 100 {
		var each []float64
		for b := 1; b <= l.now.blocks; b++ {
			each = append(each, float64(b)/end)
		}
		text += fmt.Sprintf(", and judging after every %s to about %s", block.Name, percent(power.FalseAlarms(l.alpha, each)))
	}
	return text + "; conclude at the end, or plan looks in the next campaign"
}

// between says what a look that comes between those planned does.
func (l looks) between(block design.Block) string {
	var after []string
	for _, p := range l.points {
		after = append(after, strconv.Itoa(p))
	}
	text := fmt.Sprintf("%d of %s are complete, and looks are planned after %s", l.now.complete, words.Count(l.now.blocks, block.Name), strings.Join(after, ", "))
	next := l.next(l.now.complete)
	if next == 0 {
		return text
	}
	all := append(slices.Clone(l.points), l.now.complete)
	slices.SortFunc(all, cmp.Compare)
	return text + fmt.Sprintf("; this one takes the place of that after %d, and if that is taken too, false alarms rise from %s to about %s", next, percent(l.alpha), percent(l.falseAlarms(all, l.end)))
}

// percent writes a chance.
func percent(p float64) string {
	return strconv.FormatFloat(100*p, 'g', 3, 64) + " %"
}
