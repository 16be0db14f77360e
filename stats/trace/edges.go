package trace

import (
	"math"
	"slices"
)

// Edge is an instant at which a command changes from one half of its range to the other.
type Edge struct {
	Time float64 // s
	U    float64 // standard uncertainty of the instant, from the interval between two rows
}

const edgeShare = 0.3 // of the range: outside it on the other side, a crossing counts

// CommandEdges returns where a command crosses half its range, midway between the two
// rows; none where it never changes.
func (tr *Trace) CommandEdges() []Edge { return tr.crossings(1, 0) }

// crossings returns where the values cross half their range and come out on the
// other side, beyond 30 % from there, for so many rows in a row.
func (tr *Trace) crossings(rows int, least float64) []Edge {
	v, t := tr.Value, tr.Time
	if len(v) < 2 {
		return nil
	}
	low, high := slices.Min(v), slices.Max(v)
	if !(high-low > least) {
		return nil
	}
	middle := low + (high-low)/2
	lower, upper := low+edgeShare*(high-low), high-edgeShare*(high-low)
	var edges []Edge
	state, run, side, crossed := 0, 0, 0, 0
	for i, x := range v {
		here := 0
		switch {
		case x < lower:
			here = -1
		case x > upper:
			here = 1
		}
		if i > 0 && (x >= middle) != (v[i-1] >= middle) && run == 0 {
			crossed = i
		}
		if here == 0 || here == state {
			run = 0
			continue
		}
		if here != side {
			run, side = 0, here
		}
		run++
		if run < rows {
			continue
		}
		if state != 0 {
			row := t[crossed] - t[crossed-1]
			edges = append(edges, Edge{Time: t[crossed] - row/2, U: row / math.Sqrt(12)})
		}
		state, run = here, 0
	}
	return edges
}
