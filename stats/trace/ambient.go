package trace

import (
	"math"
	"slices"
)

// fresh is the trace without repeats of a slower source, judged over all of its rows.
func (tr *Trace) fresh() *Trace {
	if m := period(rowsPerValue(tr.Value, tr.Quantum)); m >= heldFrom {
		return tr.freshRows(m)
	}
	return tr
}

const ambientParts = 20

// ambient returns the noise of a signal and its factor F without regard to steps: the
// medians over twenty stretches of what a quadratic leaves.
func ambient(t, v []float64) (noise, f float64) {
	n := len(v)
	parts := max(1, min(ambientParts, n/24))
	var noises, factors []float64
	for k := range parts {
		a, b := n*k/parts, n*(k+1)/parts
		p, ok := fitLocal(t[a:b], v[a:b], nil, (t[a]+t[b-1])/2, 2)
		if !ok || p.df() < 1 {
			continue
		}
		r := make([]float64, b-a)
		for i := range r {
			r[i] = v[a+i] - p.at(t[a+i])
		}
		noises = append(noises, math.Sqrt(p.noise2))
		factors = append(factors, correlationFactor(r, 3))
	}
	if len(noises) == 0 {
		return 0, 1
	}
	return median(noises), median(factors)
}

// noiseOf returns noise and F of a trace: those of its states where it has steps.
func noiseOf(tr *Trace, steps []Step) (noise, f float64) {
	f = 1
	for i := range steps {
		if s := &steps[i]; s.unsettled == nil {
			noise = max(noise, s.noise())
			f = max(f, s.before.F, s.after.F)
		}
	}
	if noise > 0 {
		return noise, f
	}
	return ambient(tr.Time, tr.Value)
}

// sums returns the running sums of values, one longer than they are.
func sums(v []float64) []float64 {
	s := make([]float64, len(v)+1)
	for i, x := range v {
		s[i+1] = s[i] + x
	}
	return s
}

// rangeOf returns the smallest and largest value.
func rangeOf(v []float64) (low, high float64) { return slices.Min(v), slices.Max(v) }
