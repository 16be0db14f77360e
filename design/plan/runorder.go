package plan

import (
	"fairrun/design"
	"fairrun/stats/words"
	"fmt"
	"slices"
	"strings"
)

// mostFixed bounds the warm-up and the reference runs of a block.
const mostFixed = 100

// leastSplitRuns is the fewest runs of an incomplete block that holds whole plots: two of two.
const leastSplitRuns = 4

// order reads [order], but for the screen.
func (r *planReader) order(t *table) (o design.Order, ok bool) {
	if t == nil {
		return o, true
	}
	s := r.section(t, "[order]")
	carry, _, okCarry := s.truth("carry_over")
	warmup, _, okWarmup := s.count("warmup")
	o.CarryOver, o.Warmup = carry, warmup
	if okWarmup && warmup > mostFixed {
		s.add(t.byKey["warmup"].value.at, fmt.Sprintf("warmup is %d", warmup), fmt.Sprintf("write at most %d", mostFixed))
		okWarmup = false
	}
	reference, okReference := s.positions("reference")
	o.Reference = reference
	return o, okCarry && okWarmup && okReference
}

// positions returns the list of positions under a key, ascending.
func (s section) positions(key string) (at []int, ok bool) {
	return s.numbersFrom1(key, "positions in a block", mostFixed)
}

// numbersFrom1 returns the list under a key of up to so many different whole numbers, each 1 or
// more, ascending; what they count goes into the remedy.
func (s section) numbersFrom1(key, what string, most int) (at []int, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return nil, true
	}
	do := fmt.Sprintf("write a list of %s, counted from 1, such as %s", what, s.keys.key(key).example)
	if e.value.kind != kindList || e.value.tables || len(e.value.items) == 0 {
		s.add(e.value.at, key+" is "+e.value.describe(), do)
		return nil, false
	}
	if n := len(e.value.items); n > most {
		noun, _, _ := strings.Cut(what, " ")
		s.add(e.value.at, fmt.Sprintf("%s has %d %s", key, n, noun), fmt.Sprintf("write at most %d", most))
		return nil, false
	}
	for _, v := range e.value.items {
		x, what, _ := v.number()
		n := int(x)
		switch {
		case what != "" || v.kind != kindInteger || n < 1 || n > design.MaxRuns:
			s.add(e.value.at, fmt.Sprintf("%s holds %s", key, v.describe()), do)
			return nil, false
		case slices.Contains(at, n):
			s.add(e.value.at, fmt.Sprintf("%s holds %d twice", key, n), "take one of them out")
			return nil, false
		}
		at = append(at, n)
	}
	slices.Sort(at)
	return at, true
}

// fixedRuns checks warm-up and reference runs against the rest of a plan that was read without
// fault: they need a baseline that is a treatment, and places within the block.
func (r *planReader) fixedRuns(c *design.Plan, t *table) bool {
	if c.Order.Fixed() == 0 {
		return true
	}
	key := "warmup"
	if len(c.Order.Reference) > 0 {
		key = "reference"
	}
	at := t.byKey[key].value.at
	var without []string
	for _, f := range c.Factors {
		if f.Baseline == "" {
			without = append(without, f.Name)
		}
	}
	if without != nil {
		r.add(at, fmt.Sprintf("%s runs the baseline, but there is none for %s", key, words.List(without, 12)), "add baseline = …, one of the levels, to each")
		return false
	}
	if c.BaselineTreatment() < 0 {
		r.add(at, fmt.Sprintf("%s runs the baseline, but the baselines together, %q, are none of the treatments", key, c.Baselines().String()),
			"add that treatment, or change the baselines")
		return false
	}
	for _, p := range c.Order.Reference {
		if p <= c.Order.Warmup || p > c.RunsPerBlock() {
			r.add(at, fmt.Sprintf("a reference run stands at position %d of a %s of %s", p, c.Block.Name, words.Count(c.RunsPerBlock(), "run")),
				fmt.Sprintf("write positions from %d to %d", c.Order.Warmup+1, c.RunsPerBlock()))
			return false
		}
	}
	return true
}

// together checks that what the plan asks of its order goes together.
func (r *planReader) together(c *design.Plan, root *table) bool {
	at := func(table, key string) int {
		if e := root.byKey[table].value.table.byKey[key]; e != nil {
			return e.value.at
		}
		return root.byKey[table].at
	}
	hard := c.HardFactors()
	switch {
	case c.Order.CarryOver && c.Block.Runs > 0 && c.WholePlots() != nil:
		r.add(at("order", "carry_over"), fmt.Sprintf("neighbours of whole plots are balanced only where a %s holds every treatment; hard to change: %s", c.Block.Name, words.List(hard, 12)),
			`write replicates in place of runs, take carry_over out, or write hard_to_change = false`)
	case hard != nil && len(c.Order.Reference) > 0:
		r.add(at("order", "reference"), "reference runs would break whole plots up; hard to change: "+words.List(hard, 12), `take reference out, or write hard_to_change = false`)
	case c.Block.Runs > 0 && c.Block.Runs < leastSplitRuns && c.WholePlots() != nil:
		r.add(at("block", "runs"), fmt.Sprintf("a %s of %s cannot hold 2 whole plots of 2 runs to compare; hard to change: %s", c.Block.Name, words.Count(c.Block.Runs, "run"), words.List(hard, 12)),
			fmt.Sprintf(`write runs = %d or more, or hard_to_change = false and set it again before every run`, leastSplitRuns))
	case hard != nil && c.Block.Count < 2:
		r.add(at("block", "count"), "in 1 "+c.Block.Name+" each setting of "+strings.Join(hard, " and ")+" is made up once: nothing tells its effect from chance",
			`write count = 2 or more, or hard_to_change = false and set it again before every run`)
	default:
		return true
	}
	return false
}
