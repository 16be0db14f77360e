package formula

import (
	"math"
	"slices"
)

// Column is a signal as it was logged: NaN where a cell is empty.
type Column struct {
	Name  string
	Value []float64
	Delay float64 // s by which it comes late
}

// mostIntervals is how many of its own intervals two values of a column may lie apart for there to be values between
// them.
const mostIntervals = 5

// Align brings columns of one log to one time axis: the rows of the column with most values. The others are read
// between their own values by straight lines, with their delays taken off. Where a
// column has no value on either side, or a gap, there is none. Rows whose stamp is not later than the
// one before are left out.
func Align(time []float64, columns []Column) *Signals {
	most, axis := -1, 0
	for c := range columns {
		n := 0
		for _, v := range columns[c].Value {
			if !math.IsNaN(v) {
				n++
			}
		}
		if n > most {
			most, axis = n, c
		}
	}
	s := &Signals{Values: map[string][]float64{}}
	last := math.Inf(-1)
	for i, t := range time {
		if t > last && !math.IsNaN(columns[axis].Value[i]) {
			s.Time = append(s.Time, t-columns[axis].Delay)
			last = t
		}
	}
	for _, c := range columns {
		s.Values[c.Name] = c.read(time, s.Time)
	}
	return s
}

// read reads a column at instants that rise.
func (c *Column) read(time, at []float64) []float64 {
	var t, v, steps []float64
	for i, x := range c.Value {
		if n := len(t); !math.IsNaN(x) && (n == 0 || time[i]-c.Delay > t[n-1]) {
			if n > 0 {
				steps = append(steps, time[i]-c.Delay-t[n-1])
			}
			t, v = append(t, time[i]-c.Delay), append(v, x)
		}
	}
	longest := 0.0
	if len(steps) > 0 {
		slices.Sort(steps)
		longest = mostIntervals * steps[len(steps)/2]
	}
	out := make([]float64, len(at))
	k := 0
	for i, x := range at {
		for k < len(t) && t[k] < x {
			k++
		}
		switch {
		case k < len(t) && t[k] == x:
			out[i] = v[k]
		case k == 0 || k == len(t) || t[k]-t[k-1] > longest:
			out[i] = math.NaN()
		default:
			out[i] = v[k-1] + (v[k]-v[k-1])*(x-t[k-1])/(t[k]-t[k-1])
		}
	}
	return out
}
