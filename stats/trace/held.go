package trace

import "math"

const heldFrom = 1.5 // rows per new value from which a log repeats a slower source

// rowsPerValue returns rows over rows with a new value; 1 where the values are merely
// quantised, so that most of them differ from the one before by one quantum.
func rowsPerValue(v []float64, q float64) (rows, fresh, small int) {
	for i := 1; i < len(v); i++ {
		rows++
		d := math.Abs(v[i] - v[i-1])
		if d == 0 {
			continue
		}
		fresh++
		if d < 1.5*q {
			small++
		}
	}
	return rows, fresh, small
}

// period turns the counts of rowsPerValue into rows per new value.
func period(rows, fresh, small int) float64 {
	if fresh < 3 || 2*small > fresh {
		return 1
	}
	return float64(rows) / float64(fresh)
}

// freshRows returns the first row of each new value, and where none comes one row in m.
// Such rows are late by half a row on average, which is taken off.
func (tr *Trace) freshRows(m float64) *Trace {
	f := *tr
	f.held = tr.Interval
	f.Time, f.Value = nil, nil
	wait := m * tr.Interval * (1 - 1e-6)
	last := math.Inf(-1)
	for i, v := range tr.Value {
		if i > 0 && v == tr.Value[i-1] && tr.Time[i]-last < wait {
			continue
		}
		last = tr.Time[i]
		f.Time = append(f.Time, last-tr.Interval/2)
		f.Value = append(f.Value, v)
	}
	f.Interval = medianInterval(f.Time)
	return &f
}
