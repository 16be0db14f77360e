package size

import (
	"slices"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// point is what some blocks achieve.
func (s family) point(t power.Target, g power.Growth, blocks int, in terms) Point {
	return s.pointAt(t, g.At(blocks), blocks, in)
}

// pointAt is what some blocks achieve that offer precision at.
func (s family) pointAt(t power.Target, at power.Precision, blocks int, in terms) Point {
	plan := *s.plan
	plan.Block.Count = blocks
	p := Point{Blocks: blocks, Runs: blocks * s.plan.RunsPerBlock(), Power: verdict.Unknown, Detectable: verdict.Unknown, Equal: verdict.Unknown, Hours: verdict.Unknown}
	p.PerLevel = p.Runs / s.count()
	if blocks > 0 {
		if hours := cost.Of(&plan).Time.Hours(); hours > 0 {
			p.Hours = verdict.Number(hours)
		}
	}
	if answer, err := s.compare.Reach(t, at); err == nil {
		p.Power, p.Detectable = verdict.Number(answer.Power), in.to(answer.Detectable)
	}
	if equal, err := s.compare.Equivalence(t.Margin, 0, t.Noise.SD, at); err == nil {
		p.Equal = verdict.Number(equal)
	}
	return p
}

// needed is the smallest number of blocks that reaches the target; nil when no
// affordable number does.
func (s family) needed(t power.Target, g power.Growth, in terms) *Point {
	answer, err := s.compare.Needed(t, g, max(g.Least, s.most))
	return s.found(answer, err, t, g, in)
}

func (s family) found(answer power.Answer, err error, t power.Target, g power.Growth, in terms) *Point {
	if err != nil || answer.Short {
		return nil
	}
	t.Goal = power.Find
	p := s.point(t, g, answer.N, in)
	return &p
}

// size fills in what is enough for one family; asked is a size of interest, 0 if none
// is.
func (s family) size(t power.Target, g power.Growth, now, asked int, in terms) FamilySize {
	z := FamilySize{Factors: s.Factors, Levels: s.Levels, Most: s.most, Now: s.point(t, g, now, in), Needed: s.needed(t, g, in), Open: []Open{}, Curve: []Point{}, BySpecimens: []SpecimensPoint{}, SameRuns: []Arrangement{}}
	if s.numbersOnly {
		return z
	}
	if s.plan.Analysis.Compare != design.CompareBest {
		settle := t
		settle.Goal = power.Settle
		z.Settled = s.needed(settle, g, in)
	}
	equal := t
	equal.Goal = power.Equal
	z.Equal = s.needed(equal, g, in)
	marks := []int{now}
	if z.Needed != nil {
		marks = append(marks, z.Needed.Blocks)
	}
	if asked > 0 {
		p := s.point(t, g, asked, in)
		z.Asked = &p
		marks = append(marks, asked)
	}
	for _, n := range steps(g.Least, marks) {
		if p := s.point(t, g, n, in); p.Power.Known() && n <= max(s.most, now, asked) {
			z.Curve = append(z.Curve, p)
		}
	}
	return z
}

// steps lists a dozen or so numbers of blocks from the least to a little more
// than the largest of some marks, all of which are among them.
func steps(least int, marks []int) []int {
	last := max(least, slices.Max(marks)) + 2
	for n := least; n <= last; n += max(1, (last-least+9)/10) {
		marks = append(marks, n)
	}
	slices.Sort(marks)
	return slices.Compact(marks)
}
