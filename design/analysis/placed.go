package analysis

import (
	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// differing returns the treatments of a plan that differ, as indexes into Treatments, and for each
// treatment its number among them: a screen may hold a combination several times.
func differing(c *design.Plan) (first, number []int) {
	seen := map[string]int{}
	for i, t := range c.Treatments() {
		name := t.String()
		if _, known := seen[name]; !known {
			seen[name] = len(first)
			first = append(first, i)
		}
		number = append(number, seen[name])
	}
	return first, number
}

// renumbered returns blocks with other numbers of treatments.
func renumbered(blocks [][]int, number []int) [][]int {
	out := make([][]int, len(blocks))
	for b, block := range blocks {
		for _, t := range block {
			out[b] = append(out[b], number[t])
		}
	}
	return out
}

// place fills in how the treatments lie in the order.
func (e *Explanation) place(c *design.Plan, plan order.Spec, s *sheet.Sheet) {
	first, number := differing(c)
	runs := make([]int, len(first))
	for _, r := range s.Runs {
		runs[number[r.Treatment]]++
	}
	effects := plan.Effects
	plan.Treatments, plan.Effects = len(first), nil
	if s.Draw.Order.Fold != nil && effects != nil { // it is they that join the treatments of either part
		for _, t := range first {
			plan.Effects = append(plan.Effects, effects[t])
		}
	}
	treatments := c.Treatments()
	blocks := renumbered(s.Draw.Order.Blocks, number)
	drift := order.DriftCorrelations(plan, blocks)
	q, err := order.Assess(plan, blocks)
	for i, t := range first {
		p := Placed{Treatment: treatments[t].String(), Runs: runs[i], Linear: verdict.Unknown, Quadratic: verdict.Unknown, Drift: verdict.Unknown}
		if err == nil {
			p.Linear = verdict.Number(q.LinearCorrelation[i])
			if q.QuadraticCorrelation != nil {
				p.Quadratic = verdict.Number(q.QuadraticCorrelation[i])
			}
		}
		if c.Drift.Model != design.DriftNone {
			p.Drift = verdict.Number(drift[i])
		}
		e.Treatments = append(e.Treatments, p)
	}
}
