package question

import (
	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// LookPlan is when a campaign's results are looked at: the looks that its plan fixes, and
// the one that is being taken.
//
// A look comes after some number of complete blocks. K looks are spread evenly over
// the blocks of the first draw, the last at the end. An extension that was drawn
// before the end moves the last look to the new end; one that was drawn when all
// blocks were complete comes after a look at the end, and adds one. Which looks a
// person took is not recorded: all that could have been taken as planned count
// as taken, which is never too lenient.
type LookPlan struct {
	Alpha    float64
	Planned  int // looks, by the plan
	spending power.Spending

	Points []int // complete blocks at each look
	Ends   []int // those points that were the end of the campaign at the time
	Now    Progress
}

// Looks are those of a campaign whose sheet is drawn.
func Looks(s *sheet.Sheet) LookPlan {
	a := s.Campaign.Analysis
	l := LookPlan{Alpha: a.Alpha, Planned: a.Looks, spending: spendingOf(s.Campaign), Now: ProgressOf(s)}
	end := s.Draw.Draws[0].Blocks
	l.Points = spread(end, min(a.Looks, end))
	for _, d := range s.Draw.Draws[1:] {
		if ProgressAt(s, end, d.Time).Complete < end {
			l.Points = l.Points[:len(l.Points)-1]
		} else {
			l.Ends = append(l.Ends, end)
		}
		end += d.Blocks
		l.Points = append(l.Points, end)
	}
	l.Ends = append(l.Ends, end)
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

// Taken lists the complete blocks at every look up to the one that is taken after
// so many.
func (l LookPlan) Taken(complete int) []int {
	var out []int
	for _, p := range l.Points {
		if p < complete {
			out = append(out, p)
		}
	}
	if complete > 0 {
		out = append(out, complete)
	}
	return out
}

// End is the number of blocks that the campaign was to have when so many were complete.
func (l LookPlan) End(complete int) int {
	for _, e := range l.Ends {
		if complete <= e {
			return e
		}
	}
	return l.Ends[len(l.Ends)-1]
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
func (l LookPlan) level(complete, end int) float64 {
	if l.Planned == 1 {
		return l.Alpha
	}
	all := power.Schedule{Spending: l.spending, Alpha: l.Alpha, Fractions: share(l.Taken(complete), end)}.Looks()
	return all[len(all)-1].Level
}

// FalseAlarms is the chance of a false alarm in one comparison when it is judged
// after each of some numbers of complete blocks, at the level that each of these
// looks has in a campaign that is to have end(blocks) of them.
func (l LookPlan) FalseAlarms(blocks []int, end func(int) int) float64 {
	last := float64(l.Ends[len(l.Ends)-1])
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

// Request is what the verdict has to know; nil when the plan has one look.
func (l LookPlan) Request(c *design.Plan) *verdict.Stage {
	if l.Planned == 1 {
		return nil
	}
	return &verdict.Stage{Spending: l.spending, Of: len(l.Points), Blocks: l.Points, Fractions: share(l.Taken(l.Now.Complete), l.End(l.Now.Complete)),
		DF: float64(c.Freedom().Residual), Inflation: Inflation(c)}
}

// Next is the number of complete blocks at the look after one, 0 if there is none.
func (l LookPlan) Next(complete int) int {
	for _, p := range l.Points {
		if p > complete {
			return p
		}
	}
	return 0
}

// Planned are the looks of a plan before the first is taken.
func Planned(c *design.Plan) LookPlan {
	end := c.Block.Count
	return LookPlan{Alpha: c.Analysis.Alpha, Planned: c.Analysis.Looks, spending: spendingOf(c), Points: spread(end, min(c.Analysis.Looks, end)), Ends: []int{end}}
}

// PlannedLook is a look that a plan fixes.
type PlannedLook struct {
	Blocks int            // complete at this look
	Looks  *verdict.Stage // what the verdict has to know; nil when the plan has one look
}

// PlannedLooks lists the looks of a plan as the verdict takes them when every one is taken
// in its turn: for a plan with one look, the end alone.
func PlannedLooks(c *design.Plan) []PlannedLook {
	l := Planned(c)
	var out []PlannedLook
	for _, blocks := range l.Points {
		l.Now.Complete = blocks
		out = append(out, PlannedLook{Blocks: blocks, Looks: l.Request(c)})
	}
	return out
}

// Inflation is how many times the information of a plan with one look a plan needs.
func Inflation(c *design.Plan) float64 {
	if c.Analysis.Looks == 1 {
		return 1
	}
	return power.Schedule{Spending: spendingOf(c), Alpha: c.Analysis.Alpha, Fractions: share(spread(c.Block.Count, c.Analysis.Looks), c.Block.Count)}.Inflation(c.Analysis.Power)
}
