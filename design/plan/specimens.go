package plan

import (
	"fmt"

	"fairrun/design"
)

// specimens reads [specimens] of a plan whose blocks are known.
func (r *planReader) specimens(t *table, b design.Block) *design.Specimens {
	s := r.section(t, "[specimens]")
	sp := &design.Specimens{}
	sp.Name, _ = s.columnNameOr(r.names, design.DefaultSpecimen, "specimen")
	n, found, ok := s.count("count")
	switch {
	case !found:
		s.lacks("count")
	case ok && b.Count > 0 && n > b.Count:
		s.add(t.byKey["count"].value.at, fmt.Sprintf("%s need at least %s, one on each; the plan has %d", sp.Many(n), b.Many(n), b.Count),
			fmt.Sprintf("write count = %d or less here, or more in [block]", b.Count))
	}
	sp.Count = n
	return sp
}
