package compare

import (
	"math"
	"testing"
)

// Interpolated critical values are those of the law itself, here one that is exact, from a third of the degrees of
// freedom asked for first to infinitely many.
func TestCriticalOverDF(t *testing.T) {
	for _, alpha := range []float64{0.05, 0.001} {
		for _, first := range []float64{2, 4, 10, 40} {
			law := Baseline{Levels: 6}
			o := newOverDF(law, alpha, first, true)
			for _, times := range []float64{0.34, 0.5, 0.7, 1, 1.3, 2, 5, 20, 1000, math.Inf(1)} {
				df := max(2, first*times)
				got, want := o.at(df), law.Critical(alpha, df)
				if tolerance := 2e-5; math.Abs(got/want-1) > tolerance {
					t.Errorf("alpha %v, %v degrees of freedom from %v: %.7f, want %.7f", alpha, df, first, got, want)
				}
			}
		}
	}
}
