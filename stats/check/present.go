package check

import "math"

// present returns a copy of x without its missing values (NaN).
func present(x []float64) ([]float64, error) {
	out := make([]float64, 0, len(x))
	for _, v := range x {
		if math.IsInf(v, 0) {
			return nil, ErrInfinite
		}
		if !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out, nil
}

// constant reports whether all values are the same number.
func constant(x []float64) bool {
	for _, v := range x {
		if v != x[0] {
			return false
		}
	}
	return true
}
