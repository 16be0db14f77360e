package law

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// TestSpatialAgainstFactor: three variables with product structure are both.
func TestSpatialAgainstFactor(t *testing.T) {
	for _, l := range [][]float64{{0.7, 0.5, -0.4}, {0.9, 0.2, 0.1}, {0.95, 0.93, 0.9}, {0, 0, 0}, {0.6, 0.6}, {0.3, 0}} {
		for _, two := range []bool{true, false} {
			s := newSpatial(product(l...), two)
			for _, df := range []float64{2, 8, inf} {
				for _, x := range []float64{-3, -1, -0.2, 0.3, 1, 3, 9} {
					if two && x < 0 {
						continue
					}
					want := ManyToOneT{Loadings: l, DF: df}.Survival(x, two)
					if got := s.survival(df, x); !near(got, want, 1e-12) {
						t.Errorf("loadings %v, df %v, two-sided %v: P(max > %v) = %.17g, want %.17g", l, df, two, x, got, want)
					}
				}
			}
		}
	}
}

// TestSpatialRepeats: a variable that is there twice, or its opposite if both sides count, changes nothing;
// one variable alone is the normal law; a variable and its opposite are its two sides.
func TestSpatialRepeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0, 8).Draw(t, "w")
		a := rapid.Float64Range(-0.95, 0.95).Draw(t, "a")
		tail := func(n int, corr []float64, two bool, w float64) float64 {
			return math.Exp(newSpatial(mat.NewSymDense(n, corr), two).logTail(w))
		}
		same := func(what string, got, want float64) {
			t.Helper()
			if !near(got, want, 1e-11) {
				t.Fatalf("%s: %.17g, want %.17g", what, got, want)
			}
		}
		one, opposite := []float64{1, 1, 1, 1}, []float64{1, -1, -1, 1}
		same("the same twice", tail(2, one, false, w), normalTail(w))
		same("the same twice, two-sided", tail(2, one, true, w), 2*normalTail(w))
		same("opposites", tail(2, opposite, false, w), 2*normalTail(w))
		same("opposites, two-sided", tail(2, opposite, true, w), 2*normalTail(w))
		same("opposites cannot both be small", tail(2, opposite, false, -w), 1)
		pair := []float64{1, a, a, 1}
		same("one of two again", tail(3, []float64{1, a, 1, a, 1, a, 1, a, 1}, false, w), tail(2, pair, false, w))
		same("one of two turned", tail(3, []float64{1, a, -1, a, 1, -a, -1, -a, 1}, true, w), tail(2, pair, true, w))
	})
}

// TestSpatialGrid: trends and other contrasts of four levels, against the sum over a fine grid of
// directions in space.
func TestSpatialGrid(t *testing.T) {
	contrasts := [][]float64{{-3, -1, 1, 3}, {1, -1, -1, 1}, {-1, 0, 0, 1}, {-1, 1.0 / 3, 1.0 / 3, 1.0 / 3}, {0, 1, -1, 0}}
	n := len(contrasts)
	corr := mat.NewSymDense(n, nil)
	for i, a := range contrasts {
		for j, b := range contrasts {
			ab, aa, bb := 0.0, 0.0, 0.0
			for k := range a {
				ab, aa, bb = ab+a[k]*b[k], aa+a[k]*a[k], bb+b[k]*b[k]
			}
			corr.SetSym(i, j, ab/math.Sqrt(aa*bb))
		}
	}
	s := newSpatial(corr, false)
	a, ok := directions(corr)
	if s == nil || !ok {
		t.Fatal("contrasts of four means do not fit into space")
	}
	// P(max > w) = mean over directions of P(R max_i a_i·u > w), R² chi-squared on 3.
	const w, steps = 2.1, 600
	sum, weights := 0.0, 0.0
	for i := range steps {
		theta := math.Pi * (float64(i) + 0.5) / steps
		for j := range steps {
			phi := 2 * math.Pi * (float64(j) + 0.5) / steps
			u := [3]float64{math.Sin(theta) * math.Cos(phi), math.Sin(theta) * math.Sin(phi), math.Cos(theta)}
			top := 0.0
			for _, v := range a {
				top = math.Max(top, dot(u, v))
			}
			weights += math.Sin(theta)
			if top > 0 {
				sum += math.Sin(theta) * ChiSquared{DF: 3}.Survival(w*w/(top*top))
			}
		}
	}
	if got, want := s.survival(inf, w), sum/weights; !near(got, want, 1e-5) {
		t.Errorf("P(max > %v) = %v, by a grid %v", w, got, want)
	}
}
