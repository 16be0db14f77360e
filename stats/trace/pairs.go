package trace

import (
	"math"
)

// pairs are rows of two signals on one time axis: the stamps of the slower one.
type pairs struct {
	t, y, x  []float64
	interval float64
	zeroY    float64
	zeroX    float64
	quantumY float64
}

const bridged = 3 // intervals of the faster signal that are read across

// paired brings two signals to the stamps of the slower one; the faster is read
// linearly between its rows, never beyond them or across a gap.
func paired(of, over *Trace) pairs {
	of, over = of.fresh(), over.fresh()
	p := pairs{zeroY: of.zeroU, zeroX: over.zeroU, quantumY: of.Quantum}
	slow, fast := of, over
	if over.Interval > of.Interval {
		slow, fast = over, of
	}
	p.interval = slow.Interval
	limit := bridged * fast.Interval
	k := 0
	for i, t := range slow.Time {
		for k < len(fast.Time) && fast.Time[k] < t {
			k++
		}
		var value float64
		switch {
		case k == len(fast.Time):
			continue
		case fast.Time[k] == t:
			value = fast.Value[k]
		case k == 0 || fast.Time[k]-fast.Time[k-1] > limit:
			continue
		default:
			e := (t - fast.Time[k-1]) / (fast.Time[k] - fast.Time[k-1])
			value = fast.Value[k-1] + e*(fast.Value[k]-fast.Value[k-1])
		}
		y, x := slow.Value[i], value
		if slow == over {
			y, x = value, slow.Value[i]
		}
		p.t, p.y, p.x = append(p.t, t), append(p.y, y), append(p.x, x)
	}
	return p
}

// part returns the rows from i to j.
func (p pairs) part(i, j int) pairs {
	p.t, p.y, p.x = p.t[i:j], p.y[i:j], p.x[i:j]
	return p
}

// branches splits a sweep at its top, the highest mean of a two-hundredth of the rows.
func (p pairs) branches() (up, down pairs, low, high float64) {
	n := len(p.t)
	half := n / 400
	total := sums(p.x)
	top := 0
	low, high = math.Inf(1), math.Inf(-1)
	for i := range p.x {
		a, b := max(0, i-half), min(n, i+half+1)
		m := (total[b] - total[a]) / float64(b-a)
		low = min(low, m)
		if m > high {
			high, top = m, i
		}
	}
	return p.part(0, top), p.part(top, n), low, high
}
