package trace

// isotonic returns the increasing sequence nearest to v by least squares (pool adjacent
// violators; Barlow, Bartholomew, Bremner & Brunk 1972).
func isotonic(v []float64) []float64 {
	mean := make([]float64, 0, len(v))
	size := make([]int, 0, len(v))
	for _, x := range v {
		m, n := x, 1
		for len(mean) > 0 && mean[len(mean)-1] >= m {
			k := len(mean) - 1
			total := n + size[k]
			m += (mean[k] - m) * float64(size[k]) / float64(total)
			n = total
			mean, size = mean[:k], size[:k]
		}
		mean, size = append(mean, m), append(size, n)
	}
	fit := make([]float64, 0, len(v))
	for k, m := range mean {
		for range size[k] {
			fit = append(fit, m)
		}
	}
	return fit
}

// rise is an increasing course of values over time.
type rise struct{ t, v []float64 }

// at returns the instant at which the course first reaches a value, linear
// between its rows; ok is false outside of them.
func (r rise) at(value float64) (instant float64, ok bool) {
	low, high := 0, len(r.v)
	for low < high {
		mid := (low + high) / 2
		if r.v[mid] < value {
			low = mid + 1
		} else {
			high = mid
		}
	}
	if low == len(r.v) {
		return r.end(), false
	}
	if low == 0 {
		return r.t[0], false
	}
	a, b := r.v[low-1], r.v[low]
	return r.t[low-1] + (r.t[low]-r.t[low-1])*(value-a)/(b-a), true
}

func (r rise) end() float64 { return r.t[len(r.t)-1] }
