package plan

import "fairrun/design"

// session reads [session].
func (r *planReader) session(t *table) (s *design.Session, ok bool) {
	sec := r.section(t, "[session]")
	s = &design.Session{}
	var okName bool
	s.Name, okName = sec.columnNameOr(r.names, design.DefaultSession, "session")
	n, found, okBlocks := sec.count("blocks")
	if !found {
		sec.lacks("blocks")
		okBlocks = false
	}
	s.Blocks = n
	hours, _, okHours := sec.duration("hours")
	s.Hours = hours
	return s, okName && okBlocks && okHours
}
