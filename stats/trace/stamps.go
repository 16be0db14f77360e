package trace

import (
	"math"
	"sort"
)

// unrounded returns the stamps, put back on a straight line where they are rounded
// ones of an even clock: all are whole multiples of 1 ms (or 10 or 0.1 ms), all lie within
// one such step of a line through their index, and intervals of two lengths
// alternate. Stamps of another kind come back as they are.
func unrounded(t []float64) []float64 {
	n := len(t)
	if n < 8 {
		return t
	}
	for _, step := range []float64{1e-2, 1e-3, 1e-4} {
		if !multiples(t, step) {
			continue
		}
		if line, ok := evenLine(t, step); ok {
			return line
		}
		return t
	}
	return t
}

// multiples reports whether every stamp is a whole multiple of a step.
func multiples(t []float64, step float64) bool {
	for _, x := range t {
		k := x / step
		if !(math.Abs(k-math.Round(k)) < 1e-3) {
			return false
		}
	}
	return true
}

// evenLine returns the least-squares line of the stamps over their index, if all lie
// within one step of it and at least one interval in twenty differs from the others.
func evenLine(t []float64, step float64) ([]float64, bool) {
	n := len(t)
	usual := 0
	first := math.Round((t[1] - t[0]) / step)
	for i := 1; i < n; i++ {
		if math.Round((t[i]-t[i-1])/step) == first {
			usual++
		}
	}
	if share := float64(usual) / float64(n-1); share < 0.05 || share > 0.95 {
		return nil, false
	}
	middle := float64(n-1) / 2
	var mean, cross, square float64
	for i, x := range t {
		mean += (x - t[0]) / float64(n)
		cross += (float64(i) - middle) * (x - t[0])
		square += (float64(i) - middle) * (float64(i) - middle)
	}
	slope := cross / square
	line := make([]float64, n)
	for i := range t {
		line[i] = t[0] + mean + slope*(float64(i)-middle)
		if math.Abs(line[i]-t[i]) > step {
			return nil, false
		}
	}
	return line, slope > 0
}

// inOrder drops as few rows as possible so that stamps increase: it keeps a longest
// increasing subsequence, and of duplicates the first.
func (tr *Trace) inOrder() {
	t := tr.Time
	increasing := true
	for i := 1; i < len(t) && increasing; i++ {
		increasing = t[i] > t[i-1]
	}
	if increasing {
		return
	}
	// ends[k] is the row that ends the best subsequence of length k+1.
	var ends []int
	before := make([]int, len(t))
	for i, x := range t {
		k := sort.Search(len(ends), func(k int) bool { return t[ends[k]] >= x })
		before[i] = -1
		if k > 0 {
			before[i] = ends[k-1]
		}
		switch {
		case k == len(ends):
			ends = append(ends, i)
		case t[ends[k]] > x:
			ends[k] = i
		}
	}
	keep := make([]bool, len(t))
	for i := ends[len(ends)-1]; i >= 0; i = before[i] {
		keep[i] = true
	}
	tr.Dropped.Stamps = tr.retain(keep)
}

// retain keeps the marked rows and returns how many went.
func (tr *Trace) retain(keep []bool) int {
	n := 0
	for i, k := range keep {
		if k {
			tr.Time[n], tr.Value[n] = tr.Time[i], tr.Value[i]
			n++
		}
	}
	gone := len(tr.Time) - n
	tr.Time, tr.Value = tr.Time[:n], tr.Value[:n]
	return gone
}
