package compare

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestStandardiseApart compares with integrals and roots by mpmath in 25 digits.
func TestStandardiseApart(t *testing.T) {
	for _, c := range []struct{ difference, se, df, sd, sdDF, alpha, g, low, high float64 }{
		{2, 0.6, 9, 1.1, 14, 0.05, 1.718704962376, 0.5313727979964, 3.315869958186},
		{0.5, 0.7, 4, 1.3, 9, 0.01, 0.3514903429971, -2.124422566859, 2.997693934543},
		{6, 0.5, 6, 0.9, 3, 0.05, 4.824008363722, 1.748268540074, 12.07292530151},
		{-1.5, 0.4, 21, 1, 60, 0.012, -1.481158369332, -2.706615407608, -0.3913371367621},
	} {
		g := NewSpread(c.sd, c.sdDF).Standardise(c.difference, c.se, c.df, c.alpha)
		near(t, "g", g.G, c.g, 1e-12)
		near(t, "g low", g.Low, c.low, 1e-8)
		near(t, "g high", g.High, c.high, 1e-8)
	}
}

// TestStandardiseApartCovers simulates differences of any size, judged by 9 degrees of freedom and standardised by a noise known
// with 14: the 95 % interval covers the true one in 95 %.
func TestStandardiseApartCovers(t *testing.T) {
	t.Parallel()
	const n, df, sdDF = 600, 9, 14
	rng := rand.New(rand.NewPCG(3, 4))
	chi := func(df int) (sum float64) {
		for range df {
			z := rng.NormFloat64()
			sum += z * z
		}
		return sum
	}
	for _, delta := range []float64{0, 1, 4, 10} {
		covered := 0
		for range n {
			se := 0.6 * math.Sqrt(chi(df)/df)
			g := NewSpread(math.Sqrt(chi(sdDF)/sdDF), sdDF).Standardise(delta+0.6*rng.NormFloat64(), se, df, 0.05)
			if g.Low <= delta && delta <= g.High {
				covered++
			}
		}
		if p, error := float64(covered)/n, 3.5*math.Sqrt(0.05*0.95/n); math.Abs(p-0.95) > error {
			t.Errorf("δ/σ = %v: covered in %.4f, want 0.95 ± %.4f", delta, p, error)
		}
	}
}

func BenchmarkStandardiseApart(b *testing.B) {
	s := NewSpread(1.1, 14)
	for b.Loop() {
		s.Standardise(2, 0.6, 9, 0.05)
	}
}
