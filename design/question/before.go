package question

import (
	"cmp"
	"slices"

	"fairrun/design/sheet"
	"fairrun/stats/linmod"
)

// before is the level of each factor in the run made before in the same block, -1 in the first: of
// the runs of a sheet that counts says were made, at the positions given. Warm-up runs leave something
// over like any other.
func before(s *sheet.Sheet, position []int, counts func(r *sheet.Run) bool) []linmod.Factor {
	rows := make([]int, len(s.Runs))
	for i := range rows {
		rows[i] = i
	}
	slices.SortStableFunc(rows, func(a, b int) int {
		return cmp.Or(cmp.Compare(s.Runs[a].Block, s.Runs[b].Block), cmp.Compare(position[a], position[b]))
	})
	out := s.Factors()
	for k := range out {
		code := make([]int32, len(rows))
		block, last := 0, int32(-1)
		for _, i := range rows {
			r := &s.Runs[i]
			if r.Block != block {
				block, last = r.Block, -1
			}
			code[i] = last
			if counts(r) {
				last = out[k].Code[i]
			}
		}
		out[k].Code = code
	}
	return out
}

// analysed keeps the rows of a factor of all runs whose runs are analysed.
func analysed(s *sheet.Sheet, factors []linmod.Factor) []linmod.Factor {
	for k := range factors {
		var code []int32
		for i := range s.Runs {
			if s.Runs[i].Role != sheet.Warmup {
				code = append(code, factors[k].Code[i])
			}
		}
		factors[k].Code = code
	}
	return factors
}
