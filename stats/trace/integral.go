package trace

import (
	"math"
)

const (
	maxGap    = 0.01 // of the span
	jumpShare = 0.2  // of the range, from one row to the next
)

// integral is the trapezoid sum over the true stamps.
func (d Definition) integral(r Run) Value {
	tr := r.Of
	n := len(tr.Time)
	if n < 2 {
		return refused(refusedf("fewer than two rows"))
	}
	span := tr.Time[n-1] - tr.Time[0]
	low, high := rangeOf(tr.Value)
	noise, f := noiseOf(tr, Steps(r.Of, r.Command))
	var sum, squares, jumps float64
	for i := 1; i < n; i++ {
		width := tr.Time[i] - tr.Time[i-1]
		if width > maxGap*span && width > 1.6*tr.Interval {
			return refused(refusedf("a gap of %.3g s, %.2g %% of the log", width, 100*width/span))
		}
		sum += width * (tr.Value[i] + tr.Value[i-1]) / 2
		squares += width * width
		if jump := math.Abs(tr.Value[i] - tr.Value[i-1]); jump > jumpShare*(high-low) && jump > minNoises*noise {
			jumps += jump * jump * width * width / 12
		}
	}
	zero := tr.zeroU * span
	rounding := 0.0
	if noise < tr.Quantum/2 {
		rounding = tr.Quantum / math.Sqrt(12) * span
	}
	u := math.Sqrt(noise*noise*f*squares + jumps + zero*zero + rounding*rounding)
	return measured(sum, u, tr.Time[0], tr.Time[n-1])
}
