package linmod

import "slices"

// cells groups rows that share the codes of every factor.
type cells struct {
	rows  []int32 // the rows used, those of a cell together
	start []int32 // cell c holds rows[start[c]:start[c+1]]
	of    []int32 // of used row rows[i]: its cell, so of[i] never falls
}

// count returns the number of cells.
func (cs *cells) count() int { return len(cs.start) - 1 }

// n returns the number of rows in cell c.
func (cs *cells) n(c int) int { return int(cs.start[c+1] - cs.start[c]) }

// in returns the rows of cell c.
func (cs *cells) in(c int) []int32 { return cs.rows[cs.start[c]:cs.start[c+1]] }

// first returns a row of cell c.
func (cs *cells) first(c int) int32 { return cs.rows[cs.start[c]] }

// group splits the rows by one factor after the other. Cells come in the order
// of their codes, the first factor slowest, whatever the order of the rows.
func group(rows []int32, factors []*Factor) *cells {
	id := make([]int32, len(rows))
	count := 1
	for _, f := range factors {
		count = refine(id, count, rows, f)
	}
	cs := &cells{rows: make([]int32, len(rows)), start: make([]int32, count+1), of: id}
	for _, c := range id {
		cs.start[c+1]++
	}
	for c := range count {
		cs.start[c+1] += cs.start[c]
	}
	next := slices.Clone(cs.start)
	for i, row := range rows {
		c := id[i]
		cs.rows[next[c]] = row
		next[c]++
	}
	for c := range count {
		for i := cs.start[c]; i < cs.start[c+1]; i++ {
			cs.of[i] = int32(c)
		}
	}
	return cs
}

// refine splits each of the groups in id by the codes of f, numbers the new
// groups in the order of (old group, code), and returns how many there are.
func refine(id []int32, groups int, rows []int32, f *Factor) int {
	levels := int64(len(f.Levels))
	key := func(i int) int64 { return int64(id[i])*levels + int64(f.Code[rows[i]]) }
	if size := int64(groups) * levels; size <= 4*int64(len(rows))+1024 {
		number := make([]int32, size)
		for i := range id {
			number[key(i)] = 1
		}
		n := int32(0)
		for k, used := range number {
			number[k] = n
			n += used
		}
		for i := range id {
			id[i] = number[key(i)]
		}
		return int(n)
	}
	keys := make([]int64, len(id))
	for i := range id {
		keys[i] = key(i)
	}
	sorted := slices.Clone(keys)
	slices.Sort(sorted)
	sorted = slices.Compact(sorted)
	for i, k := range keys {
		n, _ := slices.BinarySearch(sorted, k)
		id[i] = int32(n)
	}
	return len(sorted)
}
