package trace

import (
	"math"
	"slices"
)

const panicColumns = "trace: Time and Value differ in length"

// Signal is one column of a log, row by row, as it was read.
type Signal struct {
	Time  []float64 // s; a clock that passes midnight is the reader's to mend
	Value []float64 // NaN where the cell is empty
	Delay float64   // s by which the column comes late (filter, latency); taken off the stamps
}

// Trace is a signal made ready to be measured: the rows that can be used, in the
// order of time. Prepare makes it.
type Trace struct {
	Time, Value []float64 // of the rows kept
	Dropped     Dropped
	Quantum     float64 // smallest distance between two values; 0 where values are many
	Interval    float64 // s, the median from row to row

	held  float64 // s, the row of a log that repeats a slower source; 0 otherwise
	zeroU float64 // standard uncertainty of the zero that was taken off
}

// Dropped counts the rows that a trace does without.
type Dropped struct {
	Empty    int // without a value or a stamp
	Stamps   int // stamp not later than the one before
	Dropouts int // up to three values that jump away and come back
}

// Prepare takes out empty cells, backward and duplicate stamps and dropouts, puts
// rounded stamps back on their line, takes off the column's delay and finds the
// quantum. The signal is not changed. It panics if Time and Value differ in length.
func Prepare(s Signal) *Trace {
	if len(s.Time) != len(s.Value) {
		panic(panicColumns)
	}
	tr := &Trace{Time: make([]float64, 0, len(s.Time)), Value: make([]float64, 0, len(s.Time))}
	time := unrounded(s.Time)
	for i, v := range s.Value {
		if !finite(v) || !finite(time[i]) {
			tr.Dropped.Empty++
			continue
		}
		tr.Time = append(tr.Time, time[i]-s.Delay)
		tr.Value = append(tr.Value, v)
	}
	tr.inOrder()
	tr.dropDropouts()
	tr.Quantum = quantum(tr.Value)
	tr.Interval = medianInterval(tr.Time)
	return tr
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// medianInterval returns the median distance of neighbours, from at most some
// 2,000 of them; NaN where there are none.
func medianInterval(t []float64) float64 {
	if len(t) < 2 {
		return math.NaN()
	}
	every := max(1, len(t)/2000)
	d := make([]float64, 0, len(t)/every+1)
	for i := 1; i < len(t); i += every {
		d = append(d, t[i]-t[i-1])
	}
	return median(d)
}

// median sorts x and returns its middle; NaN of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

// Zeroed returns the trace less its mean before an instant, as a rule the first edge of
// the command. The uncertainty of that mean enters all measures that need a zero. The
// error says why there is no mean.
func (tr *Trace) Zeroed(before float64) (*Trace, error) {
	n := tr.after(before)
	if n < minBefore {
		return nil, refusedf("%d rows before the command to read the zero from, %d are needed", n, minBefore)
	}
	s := constantState(tr.Time[:n], tr.Value[:n])
	z := *tr
	z.Value = make([]float64, len(tr.Value))
	for i, v := range tr.Value {
		z.Value[i] = v - s.mean
	}
	var b budget
	s.addLevel(&b, 0, tr.Quantum)
	z.zeroU = math.Hypot(tr.zeroU, b.u())
	return &z, nil
}

// after returns the index of the first row later than an instant.
func (tr *Trace) after(instant float64) int {
	i, _ := slices.BinarySearchFunc(tr.Time, instant, func(t, x float64) int {
		if t <= x {
			return -1
		}
		return 1
	})
	return i
}

// between returns the rows from a to b, both included; they share memory with the trace.
func (tr *Trace) between(a, b float64) (t, v []float64) {
	i, _ := slices.BinarySearch(tr.Time, a)
	j := tr.after(b)
	if j < i {
		j = i
	}
	return tr.Time[i:j], tr.Value[i:j]
}
