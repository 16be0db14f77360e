package trace

import "math"

// highest is the highest mean over the hold. The stretch is found on one half of the rows
// and its mean read on the other.
func (d Definition) highest(r Run) Value {
	tr := r.Of.fresh()
	rows := d.Hold / tr.Interval
	n := len(tr.Time)
	switch {
	case n < 2 || tr.Time[n-1]-tr.Time[0] < d.Hold:
		return refused(refusedf("the log is shorter than the hold"))
	case rows < 2*halfRows:
		return refused(refusedf("%.2g rows in the hold, %d are needed", rows, 2*halfRows))
	}
	noise, f := noiseOf(tr, Steps(r.Of, r.Command))
	h, widen := dealt(tr.Time, tr.Value, 1), plateauU
	if f > whiteF && rows >= blockedRows*f {
		h, widen = dealt(tr.Time, tr.Value, f), blockedU
	}
	var sum, lever, from float64
	for k := range 2 {
		a, ok := highestWindow(h.t[k], h.v[k], d.Hold)
		if !ok {
			return refused(refusedf("too few rows in the hold"))
		}
		_, y := window(h.t[1-k], h.v[1-k], a, a+d.Hold)
		if len(y) == 0 {
			return refused(refusedf("a gap in the highest stretch"))
		}
		sum += average(y) / 2
		lever += 1 / float64(len(y)) / 4
		from += a / 2
	}
	u := math.Hypot(noise*math.Sqrt(f*lever)*widen, tr.zeroU)
	return measured(sum, u, from, from+d.Hold)
}

func average(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x - v[0]
	}
	return v[0] + sum/float64(len(v))
}

// highestWindow returns the start of the stretch of the given length with the highest mean.
func highestWindow(t, v []float64, length float64) (from float64, ok bool) {
	total := sums(v)
	best := math.Inf(-1)
	last := 0
	for first := range t {
		if t[first]+length > t[len(t)-1] {
			break
		}
		for last < len(t) && t[last] < t[first]+length {
			last++
		}
		if m := (total[last] - total[first]) / float64(last-first); last-first >= halfRows && m > best {
			best, from, ok = m, t[first], true
		}
	}
	return from, ok
}
