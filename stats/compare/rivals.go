package compare

import "math"

// Rivals are the differences between levels, larger being better, and what they are judged by: all
// that the intervals of [Leads] rest on.
type Rivals struct {
	Diff         []float64 // of levels i and j, by i·k + j
	SE           []float64 // of these
	Lower, Upper float64   // the two constants, see [law.LessBest]
}

// Intervals fills in the comparison of each of len(out) levels with the best of the others, but for
// P. It allocates nothing.
func (r *Rivals) Intervals(out []Lead) {
	k := len(out)
	best := 0
	for i := range out {
		l := Lead{Rival: -1, Low: math.Inf(1), High: math.Inf(1), Ahead: math.Inf(1), Behind: math.Inf(-1)}
		for j := range out {
			if j == i {
				continue
			}
			d, se := r.Diff[i*k+j], r.SE[i*k+j]
			if l.Rival < 0 || r.Diff[j*k+l.Rival] > 0 {
				l.Rival = j
			}
			l.Low, l.High = min(l.Low, d-r.Lower*se), min(l.High, d+r.Upper*se)
			l.Ahead, l.Behind = min(l.Ahead, d/se), max(l.Behind, -d/se)
		}
		l.Estimate = r.Diff[i*k+l.Rival]
		l.T = l.Estimate / r.SE[i*k+l.Rival]
		if out[i] = l; r.Diff[i*k+best] > 0 {
			best = i
		}
	}
	// Only the level with the largest mean can be shown to be the best: by its lead, or because all others are behind.
	clear := math.Inf(1)
	for j := range out {
		if j != best {
			clear = min(clear, -out[j].High)
		}
	}
	if clear > 0 {
		out[best].Low = max(out[best].Low, clear)
	}
	for j := range out {
		if j != best && out[best].Low > 0 {
			out[j].High = min(out[j].High, -out[best].Low)
		}
		out[j].MayBeBest = !(out[j].High < 0)
	}
}

// Lower returns the comparison on the scale of a response of which lower is better, where l is that of
// its negative.
func (l Lead) Lower() Lead {
	l.Estimate, l.Low, l.High = -l.Estimate, -l.High, -l.Low
	return l
}
