package blocks

import (
	"slices"
	"strings"

	"fairrun/design/lot"
)

// action is a group that acts on the treatments, as a list of all its permutations.
type action [][]int

// actions returns groups to search with, the largest first: abelian groups on t copies of
// themselves and f fixed treatments, as they are or with the powers of a map that multiplies by h and takes
// some of the copies, and as many fixed treatments, round.
func actions(treatments int) []action {
	var all []action
	for _, f := range []int{0, 1, 2, 3, 4} {
		for t := 1; t <= 8; t++ {
			m := (treatments - f) / t
			if m*t+f != treatments || m < 3 {
				continue
			}
			for _, a := range groupsOf(m) {
				seen := map[string]bool{}
				for h := 1; h < m; h++ {
					for _, round := range []int{1, 2, 3, t} {
						if round > t {
							continue
						}
						g := act(a, t, f, h, round)
						if g == nil || seen[g.key(m)] {
							continue
						}
						seen[g.key(m)] = true
						all = append(all, g)
					}
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b action) int { return len(b) - len(a) })
	return all
}

// groupsOf returns groups of m elements: addition modulo m, and in the field of m elements.
func groupsOf(m int) []group {
	all := developers(m)
	return slices.DeleteFunc(all, func(g group) bool { return g.order != m })
}

// mostSymmetries is the largest group that is searched with.
const mostSymmetries = 300

// act returns the group that a and the map (x, copy) → (hx, next copy) generate, nil if h has no
// inverse or the group is too large. The first so many copies, and fixed treatments, are taken round.
func act(a group, t, f, h, round int) action {
	m := a.order
	step := make([]int, t*m+f)
	seen := make([]bool, m)
	next := func(i int) int {
		if i < round {
			return (i + 1) % round
		}
		return i
	}
	for x := range m {
		y := a.times(h, x)
		if seen[y] {
			return nil
		}
		seen[y] = true
		for i := range t {
			step[i*m+x] = next(i)*m + y
		}
	}
	for i := range f {
		step[t*m+i] = t*m + i
		if f >= round {
			step[t*m+i] = t*m + next(i)
		}
	}
	var all action
	power := lot.Identity(t*m + f)
	for {
		for s := range m {
			g := make([]int, len(power))
			for i, to := range power {
				g[i] = to
				if to < t*m {
					g[i] = to/m*m + a.add(to%m, s)
				}
			}
			all = append(all, g)
		}
		if len(all) > mostSymmetries {
			return nil
		}
		again := make([]int, len(power))
		for i, to := range power {
			again[i] = step[to]
		}
		power = again
		if slices.Equal(power, lot.Identity(len(power))) {
			return all
		}
	}
}

// key tells groups of the same translations apart, each of whose first m permutations of so many is one.
func (g action) key(m int) string {
	var rows []string
	for i := 0; i < len(g); i += m {
		rows = append(rows, Key(g[i]))
	}
	slices.Sort(rows)
	return strings.Join(rows, "")
}
