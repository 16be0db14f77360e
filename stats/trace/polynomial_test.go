package trace

import (
	"math"
	"testing"
)

// TestSavitzkyGolay compares local polynomials at even spacing with the convolution weights of
// Savitzky & Golay 1964 (Analytical Chemistry 36, 1627), as corrected by Steinier,
// Termonia & Deltour 1972; quoted from memory. The row read at an end is the one that follows
// from the same normal equations (Gorry 1990, from memory too).
func TestSavitzkyGolay(t *testing.T) {
	tests := []struct {
		name          string
		degree, order int
		at            float64
		divisor       float64
		weights       []float64
	}{
		{"quadratic, 5 rows", 2, 0, 0, 35, []float64{-3, 12, 17, 12, -3}},
		{"quadratic, 7 rows", 2, 0, 0, 21, []float64{-2, 3, 6, 7, 6, 3, -2}},
		{"quadratic, 9 rows", 2, 0, 0, 231, []float64{-21, 14, 39, 54, 59, 54, 39, 14, -21}},
		{"cubic, 7 rows", 3, 0, 0, 21, []float64{-2, 3, 6, 7, 6, 3, -2}},
		{"first derivative, quadratic, 5 rows", 2, 1, 0, 10, []float64{-2, -1, 0, 1, 2}},
		{"first derivative, cubic, 5 rows", 3, 1, 0, 12, []float64{1, -8, 0, 8, -1}},
		{"first derivative, cubic, 7 rows", 3, 1, 0, 252, []float64{22, -67, -58, 0, 58, 67, -22}},
		{"second derivative, quadratic, 5 rows", 2, 2, 0, 7, []float64{2, -1, -2, -1, 2}},
		{"second derivative, quadratic, 7 rows", 2, 2, 0, 42, []float64{5, 0, -3, -4, -3, 0, 5}},
		{"quadratic at its first row, 5 rows", 2, 0, -2, 35, []float64{31, 9, -3, -5, 3}},
	}
	for _, test := range tests {
		n := len(test.weights)
		x := make([]float64, n)
		for i := range x {
			x[i] = float64(i - n/2)
		}
		p, ok := fitLocal(x, make([]float64, n), nil, 0, test.degree)
		if !ok {
			t.Fatalf("%s: not determined", test.name)
		}
		for i, w := range test.weights {
			got, want := p.operator(x[i], 1, test.at, test.order), w/test.divisor
			if math.Abs(got-want) > 1e-13 {
				t.Errorf("%s: weight %d = %.15g, want %.15g", test.name, i, got, want)
			}
		}
	}
}

// TestLocalReproduces fits polynomials that rows lie on, at uneven instants and far from 0.
func TestLocalReproduces(t *testing.T) {
	x := []float64{1000.1, 1000.25, 1000.3, 1000.7, 1000.75, 1001.2, 1001.4}
	for degree := 1; degree <= 3; degree++ {
		v := make([]float64, len(x))
		for i := range x {
			v[i] = 1e6 + 3*math.Pow(x[i]-1000, float64(degree))
		}
		p, _ := fitLocal(x, v, nil, 1000.7, degree)
		if got, want := p.at(1000.5), 1e6+3*math.Pow(.5, float64(degree)); math.Abs(got/want-1) > 1e-14 {
			t.Errorf("degree %d: %.17g, want %.17g", degree, got, want)
		}
		if got, want := p.slope(1000.5), 3*float64(degree)*math.Pow(.5, float64(degree-1)); math.Abs(got/want-1) > 1e-7 {
			t.Errorf("degree %d: slope %.12g, want %.12g", degree, got, want)
		}
	}
}
