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

// Judge fills in P where intervals are those of all pairs: pair gives the adjusted p-value of the difference of levels i
// and j.
func (r *Rivals) Judge(out []Lead, pair func(i, j int) float64) {
	k := len(out)
	best, lead := 0, 0.0
	for i := range out {
		out[i].P = 1
		for j := range out {
			if r.Diff[i*k+j] < 0 {
				out[i].P = min(out[i].P, pair(i, j))
			}
		}
		if r.Diff[i*k+best] > 0 {
			best = i
		}
	}
	for j := range out {
		if j != best {
			lead = max(lead, pair(best, j))
		}
	}
	settle(out, best, lead)
}

// settle has P of each level, so far that of lying behind, follow from the lead of the best with its own p-value, and that of
// the best from all others lying behind.
func settle(out []Lead, best int, lead float64) {
	behind := 0.0
	for j := range out {
		if j != best {
			behind = max(behind, out[j].P)
			out[j].P = min(out[j].P, lead)
		}
	}
	out[best].P = min(lead, behind)
}

// Lower returns the comparison on the scale of a response of which lower is better, where l is that of
// its negative.
func (l Lead) Lower() Lead {
	l.Estimate, l.Low, l.High = -l.Estimate, -l.High, -l.Low
	return l
}
