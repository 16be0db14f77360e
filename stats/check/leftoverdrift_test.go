package check

import (
	"errors"
	"math"
	"testing"
)

func TestLeftoverDriftAgainstR(t *testing.T) {
	for _, f := range readFits(t) {
		order := make([]float64, len(f.Residuals))
		for i := range order {
			order[i] = 1e6 + 3*float64(i) // any units of time
		}
		project := projection(f.basis())
		for degree, want := range map[int][]float64{1: f.Straight, 2: f.Bent} {
			got, err := LeftoverDrift(f.Residuals, order, f.DF, degree, project)
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
			wantResult(t, "nil project", a.Result, f.Bent, 1e-10)
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
	failing := errors.New("no fit")
	if _, err := LeftoverDrift(e, order, 2, 1, func([]float64) ([]float64, error) { return nil, failing }); !errors.Is(err, failing) {
		t.Errorf("failing projection: %v", err)
	}
	// With two places in time a square is no trend of its own.
	got, err := LeftoverDrift([]float64{1, 2, -1, -2}, []float64{0, 0, 1, 1}, 3, 2, nil)
	if err != nil || got.DF1 != 1 {
		t.Errorf("two places in time: %v, %v, want one degree of freedom", got, err)
	}
}
