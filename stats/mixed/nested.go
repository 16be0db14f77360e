package mixed

import (
	"slices"
	"strings"

	"fairrun/stats/linmod"
)

// Nested returns the factor of levels within levels: of specimens and packs, each pack within its specimen,
// whatever packs of different specimens are called. Its name is "pack within specimen".
// Otherwise it is as [Crossed] returns it.
func Nested(factors ...linmod.Factor) linmod.Factor {
	f := Crossed(factors...)
	names := make([]string, len(factors))
	for i := range factors {
		names[len(factors)-1-i] = factors[i].Name
	}
	f.Name = strings.Join(names, " within ")
	return f
}

// Crossed returns the factor whose levels are the combinations of levels of the
// given factors that have rows: their interaction. Its name is "A × B", a level "a1 b1"; levels come
// in the order of the factors, the first slowest. A row that misses a factor has
// no code.
//
// Crossed panics if the factors differ in length.
func Crossed(factors ...linmod.Factor) linmod.Factor {
	var f linmod.Factor
	if len(factors) == 0 {
		return f
	}
	n := len(factors[0].Code)
	names := make([]string, len(factors))
	for i := range factors {
		if len(factors[i].Code) != n {
			panic(panicLength)
		}
		names[i] = factors[i].Name
	}
	f.Name = linmod.TermName(names...)
	byCodes := func(a, b int) int {
		for i := range factors {
			if d := factors[i].Code[a] - factors[i].Code[b]; d != 0 {
				return int(d)
			}
		}
		return 0
	}
	f.Code = make([]int32, n)
	var rows []int
	for row := range n {
		f.Code[row] = -1
		if !slices.ContainsFunc(factors, func(g linmod.Factor) bool { return g.Code[row] < 0 }) {
			rows = append(rows, row)
		}
	}
	slices.SortStableFunc(rows, byCodes)
	for i, row := range rows {
		if i == 0 || byCodes(rows[i-1], row) != 0 {
			level := make([]string, len(factors))
			for k := range factors {
				level[k] = factors[k].Levels[factors[k].Code[row]]
			}
			f.Levels = append(f.Levels, strings.Join(level, " "))
		}
		f.Code[row] = int32(len(f.Levels) - 1)
	}
	return f
}

// Combined is the factor of all combinations of levels, the first factor slowest, whether they have rows or not ([Crossed] has those only).
func Combined(factors []linmod.Factor) linmod.Factor {
	var names []string
	for _, f := range factors {
		names = append(names, f.Name)
	}
	out := linmod.Factor{Name: linmod.TermName(names...), Levels: []string{""}, Code: make([]int32, len(factors[0].Code))}
	for k, f := range factors {
		var levels []string
		for _, l := range out.Levels {
			for _, own := range f.Levels {
				if k > 0 {
					own = l + " " + own
				}
				levels = append(levels, own)
			}
		}
		out.Levels = levels
		for row, code := range f.Code {
			if out.Code[row] >= 0 && code >= 0 {
				out.Code[row] = out.Code[row]*int32(len(f.Levels)) + code
			} else {
				out.Code[row] = -1
			}
		}
	}
	return out
}
