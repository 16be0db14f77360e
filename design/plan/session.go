package plan

import "fairrun/design"

// session reads [session].
func (r *planReader) session(t *table) (s *design.Session, ok bool) {
	sec := r.section(t, "[session]", "name", "blocks", "hours")
	s = &design.Session{}
	var okName bool
	s.Name, okName = sec.columnNameOr(r.names, design.DefaultSession, "session")
	n, found, okBlocks := sec.count("blocks")
	if !found {
		sec.missing("blocks", "add blocks = 3: how many blocks one session holds; how many sessions there are follows")
		okBlocks = false
	}
	s.Blocks = n
	hours, _, okHours := sec.durationTo("hours", longestHours)
	s.Hours = hours
	return s, okName && okBlocks && okHours
}
