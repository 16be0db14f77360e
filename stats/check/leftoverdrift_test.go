package check

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLeftoverDriftAgainstR(t *testing.T) {
	for _, f := range readFits(t) {
		order := make([]float64, len(f.Residuals))
		for i := range order {
			order[i] = 1e6 + 3*float64(i) // any units of time
		}
		for degree, want := range map[int][]float64{1: f.Straight, 2: f.Bent} {
			got, err := LeftoverDrift(f.Residuals, order, f.DF, degree, f.basis())
			if want == nil {
				if !errors.Is(err, ErrInModel) {
					t.Errorf("%s, degree %d: %v, %v, want error %v", f.Name, degree, got, err, ErrInModel)
				}
				continue
			}
			if err != nil {
				t.Errorf("%s, degree %d: %v", f.Name, degree, err)
				continue
			}
			wantResult(t, f.Name, got.Result, want, 1e-10)
		}
		if f.Name == "mean only" {
			a, _ := LeftoverDrift(f.Residuals, order, f.DF, 2, nil)
			wantResult(t, "nil basis", a.Result, f.Bent, 1e-10)
		}
	}
}

func TestLeftoverDriftSwing(t *testing.T) {
	// y = 3i + a part that is orthogonal to 1, i and i².
	y := make([]float64, 8)
	order := make([]float64, 8)
	cubic := []float64{-7, 5, 7, 3, -3, -7, -5, 7} // orthogonal polynomial of degree 3, n = 8
	for i := range y {
		order[i] = float64(i)
		y[i] = 3*(float64(i)-3.5) + cubic[i]
	}
	for degree := 1; degree <= 2; degree++ {
		got, err := LeftoverDrift(y, order, 7, degree, nil)
		if err != nil {
			t.Fatal(err)
		}
		// Σ (3(i−3.5))² = 9·42 = 378, Σ cubic² = 264.
		d := float64(degree)
		wantResult(t, "drift", got.Result, []float64{378 / d / (264 / (7 - d)), d, 7 - d, got.P}, 1e-12)
		wantNear(t, "swing", got.Swing, 21, 1e-12)
	}
}

func TestLeftoverDriftErrors(t *testing.T) {
	nan := math.NaN()
	e, order := []float64{1, nan, -2, 1}, []float64{0, 1, 2, 3}
	if _, err := LeftoverDrift([]float64{0, 0, 0}, order[:3], 2, 1, nil); !errors.Is(err, ErrExactFit) {
		t.Errorf("residuals of zero: %v", err)
	}
	if _, err := LeftoverDrift(e, []float64{5, 5, 5, 5}, 2, 1, nil); !errors.Is(err, ErrConstant) {
		t.Errorf("constant order: %v", err)
	}
	if _, err := LeftoverDrift(e, order, 2, 2, nil); !errors.Is(err, ErrNoDF) {
		t.Errorf("no degrees of freedom: %v", err)
	}
	// With two places in time a square is no trend of its own.
	got, err := LeftoverDrift([]float64{1, 2, -1, -2}, []float64{0, 0, 1, 1}, 3, 2, nil)
	if err != nil || got.DF1 != 1 {
		t.Errorf("two places in time: %v, %v, want one degree of freedom", got, err)
	}
}

// A shift or another unit of time, or of the response, changes nothing; nor does a
// row that the fit left out.
func TestLeftoverDriftIgnoresUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(6, 20).Draw(t, "n")
		e, order := make([]float64, n), make([]float64, n)
		e2, order2 := []float64{math.NaN()}, []float64{math.NaN()}
		shift, scale := rapid.Float64Range(-1e4, 1e4).Draw(t, "shift"), rapid.SampledFrom([]float64{-7, 0.001, 60}).Draw(t, "scale")
		sum := 0.0
		for i := range e {
			e[i], order[i] = float64(rapid.IntRange(-50, 50).Draw(t, "e")), float64(i)
			sum += e[i]
		}
		for i := range e {
			e[i] -= sum / float64(n)
			e2, order2 = append(e2, scale*e[i]), append(order2, shift+scale*order[i])
		}
		degree := rapid.IntRange(1, 2).Draw(t, "degree")
		want, err := LeftoverDrift(e, order, n-1, degree, nil)
		got, err2 := LeftoverDrift(e2, order2, n-1, degree, nil)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("errors %v and %v", err, err2)
		}
		if err == nil && (!near(got.P, want.P, 1e-6) || math.Abs(got.Swing-math.Abs(scale)*want.Swing) > 1e-7*math.Abs(scale)) {
			t.Fatalf("%+v, want %+v", got, want)
		}
	})
}
