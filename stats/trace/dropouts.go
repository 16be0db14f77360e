package trace

import "slices"

const (
	dropoutRows  = 3   // at most so many values in a row are a dropout
	dropoutShare = 0.2 // of the range, beyond both neighbours
	dropoutNoise = 6   // and so many times the noise: the range of a quiet log is all noise
)

// dropDropouts drops up to three values in a row that lie beyond both neighbours, on the
// same side, by more than a fifth of the range. It looks again while some were found,
// since one wild value widens the range.
func (tr *Trace) dropDropouts() {
	for range 3 {
		gone := tr.dropOnce()
		tr.Dropped.Dropouts += gone
		if gone == 0 {
			return
		}
	}
}

func (tr *Trace) dropOnce() int {
	v := tr.Value
	if len(v) < 3 {
		return 0
	}
	far := dropoutShare * (slices.Max(v) - slices.Min(v))
	if noise := neighbourNoise(v); noise > 0 {
		far = max(far, dropoutNoise*noise)
	}
	var keep []bool
	for i := 1; i < len(v)-1; i++ {
		n := dropoutAt(v, i, far)
		if n == 0 {
			continue
		}
		if keep == nil {
			keep = make([]bool, len(v))
			for k := range keep {
				keep[k] = true
			}
		}
		for k := i; k < i+n; k++ {
			keep[k] = false
		}
		i += n
	}
	if keep == nil {
		return 0
	}
	return tr.retain(keep)
}

// dropoutAt returns how many values from row i on are a dropout.
func dropoutAt(v []float64, i int, far float64) int {
	d := v[i] - v[i-1]
	if -far <= d && d <= far {
		return 0
	}
	up := d > 0
	for n := 1; n <= dropoutRows && i+n < len(v); n++ {
		a, b := v[i+n-1]-v[i-1], v[i+n-1]-v[i+n]
		if !up {
			a, b = -a, -b
		}
		if a <= far {
			return 0
		}
		if b > far {
			low := a // the one of the run that is nearest to the neighbour after
			for k := i; k < i+n; k++ {
				d := v[k] - v[i+n]
				if !up {
					d = -d
				}
				low = min(low, d)
			}
			if low > far {
				return n
			}
		}
	}
	return 0
}
