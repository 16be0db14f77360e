package plan

import (
	"fairrun/design"
	"fairrun/design/order"
	"fmt"
	"slices"
	"strings"
)

// treatments reads the keys treatments and interactions of the plan, whose factors and screen were
// read without fault, and checks that what is to be compared can be distinguished.
func (r *planReader) treatments(root *table, s section, c *design.Plan, places []factorPlaces) bool {
	interactions, given, ok := s.truth("interactions")
	c.Interactions = len(c.Factors) == 2 || len(c.Factors) == 3
	if given && len(c.Factors) > 1 {
		c.Interactions = interactions
	}
	total := 0
	for _, f := range c.Factors {
		total += len(f.Levels)
	}
	if total > mostLevels {
		r.add(places[0].at, fmt.Sprintf("the factors have %d levels together", total), fmt.Sprintf("a plan may have at most %d", mostLevels))
		return false
	}
	if c.Order.Screen != nil {
		return ok && r.choose(root, c, places)
	}
	if e := s.table.byKey["treatments"]; e != nil {
		return ok && r.chosen(e, c, places)
	}
	if n := c.CountTreatments(); n > order.MaxTreatments {
		all := fmt.Sprint(n)
		if n > design.MaxRuns {
			all = fmt.Sprintf("more than %d", design.MaxRuns)
		}
		r.add(places[0].at, fmt.Sprintf("all combinations of the levels are %s treatments", all),
			fmt.Sprintf(`a plan runs at most %d different ones: choose some with treatments = [ … ], take levels out, or screen factors of two levels each (resolution = "III" in [order])`, order.MaxTreatments))
		return false
	}
	return ok && r.distinct(c, places[0].at)
}

// chosen reads the chosen treatments.
func (r *planReader) chosen(e *entry, c *design.Plan, places []factorPlaces) bool {
	if e.value.kind != kindList || len(e.value.items) == 0 {
		what := e.value.describe()
		if e.value.kind == kindList {
			what = "an empty list"
		}
		r.add(e.value.at, "treatments is "+what, fmt.Sprintf("write a list such as [{%s}, …], or take it out to run all combinations", example(c.Factors)))
		return false
	}
	ok := true
	lines := map[string]int{}
	for _, v := range e.value.items {
		levels, okLevels := r.combination(v, c.Factors)
		if !okLevels {
			ok = false
			continue
		}
		key := fmt.Sprintf("%q", levels)
		if line, twice := lines[key]; twice {
			r.add(v.at, fmt.Sprintf("the treatment %q stands twice, first at line %d", strings.Join(levels, " "), line), "take one of them out; replicates repeats treatments")
			ok = false
			continue
		}
		lines[key] = r.line(v.at)
		c.Chosen = append(c.Chosen, levels)
	}
	if !ok {
		return false
	}
	if n := len(c.Chosen); n > order.MaxTreatments {
		r.add(e.value.at, fmt.Sprintf("treatments has %d treatments", n),
			fmt.Sprintf(`a plan runs at most %d different ones: take some out, or screen factors of two levels each (resolution = "III" in [order] in place of treatments)`, order.MaxTreatments))
		return false
	}
	if len(c.Chosen) < 2 {
		r.add(e.value.at, "treatments has 1 of the at least 2 treatments a comparison needs", "add another")
		return false
	}
	for i, f := range c.Factors {
		for j, level := range f.Levels {
			if !slices.ContainsFunc(c.Chosen, func(levels []string) bool { return levels[i] == level }) {
				r.add(places[i].levels[j], fmt.Sprintf("the level %s of %s is in none of the chosen treatments", level, f.Name), "add a treatment that has it, or take the level out")
				ok = false
			}
		}
	}
	if !ok || !r.distinct(c, e.at) {
		return false
	}
	if !c.Interactions && len(c.Factors) > 1 {
		if mixed := inseparable(c); mixed != nil {
			r.add(e.at, fmt.Sprintf("the chosen treatments cannot tell the effects of %s apart", strings.Join(mixed, " and ")),
				"add treatments that change one and not the other, or write interactions = true to compare the treatments as they stand")
			return false
		}
	}
	return true
}

// combination reads one chosen treatment: a level of each factor.
func (r *planReader) combination(v *value, factors []design.Factor) (levels []string, ok bool) {
	if v.kind != kindTable {
		r.add(v.at, "a treatment is "+v.describe(), fmt.Sprintf("write a level of each factor: {%s}", example(factors)))
		return nil, false
	}
	ok = true
	var known []string
	for _, f := range factors {
		known = append(known, f.Name)
	}
	for _, e := range v.table.entries {
		if !slices.Contains(known, e.key) {
			r.add(e.at, fmt.Sprintf("%q is no factor", shorten(e.key)), oneOf(e.key, known...))
			ok = false
		}
	}
	levels = make([]string, len(factors))
	for i := range factors {
		f := &factors[i]
		e := v.table.byKey[f.Name]
		if e == nil {
			r.add(v.at, "the treatment says nothing of "+f.Name, fmt.Sprintf("add %s = %s, or another of its levels", f.Name, f.Literal(f.Levels[0])))
			ok = false
			continue
		}
		level, what, do := levelOf(f, e.value)
		if what != "" {
			r.add(e.value.at, f.Name+" is "+what, do)
			ok = false
			continue
		}
		levels[i] = level
	}
	return levels, ok
}

// distinct checks that no two treatments go by the same name.
func (r *planReader) distinct(c *design.Plan, at int) bool {
	seen := map[string][]string{}
	for _, t := range c.Treatments() {
		name := t.String()
		if other, twice := seen[name]; twice && !slices.Equal(other, t.Levels) {
			r.add(at, fmt.Sprintf("the treatments %q and %q are both called %q", other, t.Levels, name), "write levels without blanks, so that a treatment's name says which it is")
			return false
		}
		seen[name] = t.Levels
	}
	return true
}

// example returns a treatment as a plan would state it: weakening = 0, prop = "A".
func example(factors []design.Factor) string {
	var parts []string
	for i := range factors {
		f := &factors[i]
		parts = append(parts, fmt.Sprintf("%s = %s", f.Name, f.Literal(f.Levels[0])))
	}
	if len(parts) > 4 {
		parts = append(parts[:4], "…")
	}
	return strings.Join(parts, ", ")
}
