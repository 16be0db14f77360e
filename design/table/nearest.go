package table

import (
	"fmt"
	"strings"
)

// Nearest is the name a person most likely meant by a name that is not among
// names: equal but for capitals and for what separates words, or else within one
// slip in three letters (a letter wrong, missing, too many, or two swapped). It
// is "" when nothing is near.
func Nearest(name string, names []string) string {
	plain := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r == ' ' || r == '_' || r == '-' || r == '.' {
				return -1
			}
			return r
		}, strings.ToLower(s))
	}
	want := plain(name)
	best, least := "", len([]rune(want))/3+1
	for _, candidate := range names {
		if candidate == "" {
			continue
		}
		if d := slips(want, plain(candidate)); d < least {
			best, least = candidate, d
		}
	}
	return best
}

// slips is the optimal string alignment distance: insertions, deletions,
// substitutions and swaps of neighbours that make b out of a.
func slips(a, b string) int {
	x, y := []rune(a), []rune(b)
	before := make([]int, len(y)+1)
	above := make([]int, len(y)+1)
	row := make([]int, len(y)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			wrong := 0
			if x[i-1] != y[j-1] {
				wrong = 1
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+wrong)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(y)]
}

// Names lists names for a message: quoted, with commas.
func Names(names []string) string {
	var b strings.Builder
	for _, name := range names {
		if name == "" {
			continue
		}
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", name)
	}
	return b.String()
}
