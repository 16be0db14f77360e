package linmod

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"testing"
)

// The values are mpmath's, made by testdata/polynomial.py.
func TestPolynomialContrasts(t *testing.T) {
	data, err := os.ReadFile("testdata/polynomial.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Values []float64
		Want   [][]float64
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		got, err := PolynomialContrasts(c.Values, len(c.Want))
		if err != nil {
			t.Errorf("%v: %v", c.Values, err)
			continue
		}
		for d, want := range c.Want {
			for i, w := range want {
				if g := got[d][i]; math.Abs(g-w) > 2e-15 {
					t.Errorf("%v, degree %d: weight %d = %v, want %v", c.Values, d+1, i, g, w)
				}
			}
		}
	}
}

func TestPolynomialContrastsTied(t *testing.T) {
	for _, c := range []struct {
		values []float64
		degree int
	}{
		{nil, 1},
		{[]float64{3}, 1},
		{[]float64{3, 3, 3}, 1},
		{[]float64{0, 4}, 2},
		{[]float64{0, 4, 4, 0, 4}, 2},
		{[]float64{0, math.NaN(), 4}, 1},
	} {
		if got, err := PolynomialContrasts(c.values, c.degree); !errors.Is(err, ErrTied) {
			t.Errorf("PolynomialContrasts(%v, %d) = %v, %v, want ErrTied", c.values, c.degree, got, err)
		}
	}
	if got, err := PolynomialContrasts(nil, 0); len(got) != 0 || err != nil {
		t.Errorf("degree 0: %v, %v, want none and no error", got, err)
	}
}
