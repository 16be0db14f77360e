package compare

import "math"

// Rivals are the differences between levels, larger being better, and what they are judged by:
// all that Hsu's intervals with the best rest on. See [WithBest].
type Rivals struct {
	Diff     []float64 // of levels i and j, by i·k + j
	SE       []float64 // of these
	Critical []float64 // of each level: Dunnett's one-sided critical value with that level as the baseline
	Pairs    float64   // critical value of all pairs
}

// Intervals fills in the comparison of each of len(out) levels with the best of the others, but for
// P. It allocates nothing.
func (r *Rivals) Intervals(out []FromBest) {
	k := len(out)
	candidates := 0
	for i := range out {
		diff, se := r.Diff[i*k:(i+1)*k], r.SE[i*k:(i+1)*k]
		high, rival := math.Inf(1), -1
		for j, d := range diff {
			if j == i {
				continue
			}
			if rival < 0 || r.Diff[j*k+rival] > 0 {
				rival = j
			}
			high = min(high, d+r.Critical[i]*se[j])
		}
		// The largest shortfall in t shows a level to be worse than some other, the
		// smallest lead to be better than every other.
		worst, nearest := math.Inf(-1), math.Inf(1)
		for j, d := range diff {
			if j != i {
				t := d / se[j]
				worst, nearest = max(worst, -t), min(nearest, t)
			}
		}
		out[i] = FromBest{
			Estimate: diff[rival],
			High:     max(0, high),
			Rival:    rival,
			Clear:    worst > r.Pairs || nearest > r.Pairs,
			T:        diff[rival] / se[rival],
			Farthest: max(worst, nearest),
		}
		if out[i].High > 0 {
			candidates++
		}
	}
	for i := range out {
		if candidates == 1 && out[i].High > 0 {
			continue // the only candidate is the best: Low is 0
		}
		low := math.Inf(1)
		for j := range out {
			if j != i && out[j].High > 0 {
				low = min(low, r.Diff[i*k+j]-r.Critical[j]*r.SE[i*k+j])
			}
		}
		out[i].Low = min(0, low)
	}
}

// Lower returns the comparison on the scale of a response of which lower is better, where b is that of
// its negative.
func (b FromBest) Lower() FromBest {
	b.Estimate, b.Low, b.High = -b.Estimate, -b.High, -b.Low
	return b
}
