package plan

import (
	"fairrun/design"
	"fmt"
)

// checks reads [checks]: the checks every plan has, then the plan's own in the order of the file.
func (r *planReader) checks(t *table) []design.Check {
	cs := design.StartChecks()
	if t == nil {
		return cs
	}
	for _, e := range t.entries {
		i := 0
		for i < len(cs) && cs[i].Name != e.key {
			i++
		}
		if e.value.kind != kindTable {
			r.add(e.at, fmt.Sprintf("%s in [checks] is %s", e.key, e.value.describe()), fmt.Sprintf("write it as the table [checks.%s] with unit, low and high", e.key))
			continue
		}
		if i == len(cs) {
			if !r.claim(r.names, e.key, "check", e.at) {
				continue
			}
			cs = append(cs, design.Check{Name: e.key})
		}
		r.check(e.value.table, &cs[i])
	}
	return cs
}

func (r *planReader) check(t *table, c *design.Check) {
	s := r.section(t, fmt.Sprintf("[checks.%s]", c.Name), "unit", "low", "high")
	if _, given := t.byKey["unit"]; given {
		c.Unit, _ = s.unit("unit")
	}
	if x, found, ok := s.number("low"); found && ok {
		c.Low = &x
	}
	if x, found, ok := s.number("high"); found && ok {
		c.High = &x
	}
	if c.Low != nil && c.High != nil && *c.Low >= *c.High {
		s.add(t.byKey["low"].value.at, fmt.Sprintf("low %s is not below high %s", t.byKey["low"].value.text, t.byKey["high"].value.text), "exchange them, or leave one out")
	}
}
