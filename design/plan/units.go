package plan

import (
	"fairrun/design"
	"fmt"
)

// units reads [units] of a plan whose blocks are known.
func (r *planReader) units(t *table, b design.Block) *design.Units {
	s := r.section(t, "[units]", "name", "count")
	u := &design.Units{}
	u.Name, _ = s.columnNameOr(r.names, design.DefaultUnit, "unit")
	n, found, ok := s.count("count")
	switch {
	case !found:
		s.missing("count", "add count = 3: how many of one type are tested")
	case ok && b.Count > 0 && n > b.Count:
		s.add(t.byKey["count"].value.at, fmt.Sprintf("%s need at least %s, one on each; the plan has %d", u.Many(n), b.Many(n), b.Count),
			fmt.Sprintf("write count = %d or less here, or more in [block]", b.Count))
	}
	u.Count = n
	return u
}
