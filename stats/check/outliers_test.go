package check

import (
	"errors"
	"math"
	"testing"
)

func TestOutliersAgainstR(t *testing.T) {
	for _, f := range readFits(t) {
		got, err := Outliers(f.Residuals, f.Leverages, f.Sigma2, f.DF)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		tested := 0
		for i := range f.T {
			// R's residuals reach the file with 15 digits.
			wantNear(t, f.Name+" t", got.T[i], float64(f.T[i]), 1e-10)
			wantNear(t, f.Name+" p", got.P[i], float64(f.P[i]), 1e-10)
			wantNear(t, f.Name+" adjusted", got.Adjusted[i], float64(f.Adjusted[i]), 1e-10)
			if !math.IsNaN(float64(f.T[i])) {
				tested++
			}
		}
		if got.Tested != tested || got.DF != float64(f.DF-1) || got.Worst != int(f.Worst[0]) {
			t.Errorf("%s: %d tested on %v df, worst %d; want %d, %d, %v", f.Name, got.Tested, got.DF, got.Worst, tested, f.DF-1, f.Worst[0])
		}
		wantNear(t, f.Name+" worst t", got.T[got.Worst], f.Worst[1], 1e-10)
		wantNear(t, f.Name+" worst p", got.P[got.Worst], f.Worst[2], 1e-10)
	}
}

// Lifting out a row is a two-sample comparison of that row with the others when
// the model is a mean: t² = F, with F the share of the row's own parameter.
func TestOutliersOfAMean(t *testing.T) {
	// 0 0 0 0 10: mean 2, residuals −2 and 8. The last row holds all the noise.
	e := []float64{-2, -2, -2, -2, 8}
	h := []float64{0.2, 0.2, 0.2, 0.2, 0.2}
	got, err := Outliers(e, h, 80.0/4, 4)
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(got.T[4], 1) || got.P[4] != 0 || got.Worst != 4 {
		t.Errorf("the row with all the noise has t = %v, P = %v, worst %d", got.T[4], got.P[4], got.Worst)
	}
	// Without row 0 the mean of 0 0 0 10 is 2.5 with s² = 25:
	// t = (0 − 2.5)/√(25·(1+1/4)) = −1/√5.
	wantNear(t, "t of row 0", got.T[0], -1/math.Sqrt(5), 1e-14)
}

func TestOutliersErrors(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		e, h   []float64
		sigma2 float64
		df     int
		want   error
	}{
		{[]float64{1, -1}, []float64{0.5, 0.5}, 2, 1, ErrNoDF},
		{[]float64{0, 0, 0}, []float64{0.3, 0.3, 0.3}, 0, 2, ErrExactFit},
		{[]float64{0, 0, nan}, []float64{1, 1 - 1e-15, 0.3}, 1, 2, ErrTooFew},
		{[]float64{math.Inf(1), 0, 0}, []float64{0.1, 0.1, 0.1}, 1, 2, ErrInfinite},
	} {
		if got, err := Outliers(c.e, c.h, c.sigma2, c.df); !errors.Is(err, c.want) {
			t.Errorf("Outliers(%v) = %v, %v, want error %v", c.e, got, err, c.want)
		}
	}
}
