package verdict

import "math"

// unused says which good runs the model could not take because a factor, a block
// or a covariate is missing: none leaves the verdict in silence.
func (s *subject) unused() {
	var rows []int
	for i, v := range s.y {
		if !math.IsNaN(v) && !s.fit.Used[i] {
			rows = append(rows, i)
		}
	}
	switch n := len(rows); {
	case n == 1:
		s.warn("runs left out", "%s has a result but lacks a level or a covariate, so it is left out: fill the cell in", s.rowName(rows[0]))
	case n > 1:
		s.warn("runs left out", "%d runs have a result but lack a level or a covariate, so they are left out (the first is %s): fill the cells in", n, s.rowName(rows[0]))
	}
}
