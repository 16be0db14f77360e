package law

import (
	"math"
	"testing"
)

// TestMaximumModulus compares with values of an independent program, with independent events where the variance is
// known, and with Student's law.
func TestMaximumModulus(t *testing.T) {
	for _, c := range []struct {
		n        int
		df, want float64
	}{
		{9, 2, 8.3847}, {7, 4, 4.5032}, {5, 6, 3.5408}, {11, 4, 4.8998},
		{1, 3, T{DF: 3}.UpperQuantile(0.025)},
		{6, math.Inf(1), normalUpperQuantile(-math.Expm1(math.Log(0.95)/6) / 2)},
	} {
		if got := MaximumModulus(c.n, c.df).UpperQuantile(0.05, true); math.Abs(got-c.want) > 1.5e-4 {
			t.Errorf("MaximumModulus(%d, %v): %.5f, want %.5f", c.n, c.df, got, c.want)
		}
	}
}
