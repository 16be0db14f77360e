package plan

import (
	"fmt"

	"fairrun/design"
)

// readings reads [readings]: the readings every plan has, then the plan's own in the order of the file.
func (r *planReader) readings(t *table) []design.Reading {
	rs := design.StartReadings()
	if t == nil {
		return rs
	}
	for _, e := range t.entries {
		i := 0
		for i < len(rs) && rs[i].Name != e.key {
			i++
		}
		if e.value.kind != kindTable {
			r.add(e.at, fmt.Sprintf("%s in [readings] is %s", e.key, e.value.describe()), fmt.Sprintf("write it as the table [readings.%s] with unit, low and high", e.key))
			continue
		}
		if i == len(rs) {
			if !r.claim(r.names, e.key, "reading", e.at) {
				continue
			}
			rs = append(rs, design.Reading{Name: e.key})
		}
		r.reading(e.value.table, &rs[i])
	}
	return rs
}

func (r *planReader) reading(t *table, g *design.Reading) {
	s := r.sectionNamed(t, "[readings.NAME]", g.Name)
	if _, given := t.byKey["unit"]; given {
		g.Unit, _ = s.unit("unit")
	}
	if x, found, ok := s.number("low"); found && ok {
		g.Low = &x
	}
	if x, found, ok := s.number("high"); found && ok {
		g.High = &x
	}
	if g.Low != nil && g.High != nil && *g.Low >= *g.High {
		s.add(t.byKey["low"].value.at, fmt.Sprintf("low %s is not below high %s", t.byKey["low"].value.text, t.byKey["high"].value.text), "exchange them, or leave one out")
	}
}
