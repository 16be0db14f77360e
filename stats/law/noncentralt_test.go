package law

import (
	"math"
	"testing"
)

// TestNoncentralTFar has noncentralities beside which the law of S is wide. Values by mpmath, 30
// digits: quad over z of npdf(z) times the regularised gammainc of df/2 at df/2 ((delta+z)/x)².
func TestNoncentralTFar(t *testing.T) {
	for _, c := range []struct{ df, delta, x, cdf, survival float64 }{
		{1, 60, 40, 0.13373581104961328, 0.86626418895038672},
		{1, 1000.0, 900, 0.26652082099341103, 0.73347917900658897},
		{3, 50, 70, 0.67515730424177381, 0.32484269575822619},
		{3, 250000.0, 1000000.0, 0.97958154499100704, 0.020418455008992956},
		{5, 1000.0, 300, 1.0046112743802501e-10, 0.99999999989953887},
		{5, 1000.0, 4000, 0.99740133862607378, 0.002598661373926223},
		{20, 700, 1000, 0.97165208700188689, 0.028347912998113108},
		{20, 6900000000.0, 10000000000.0, 0.97603488430456555, 0.023965115695434453},
		{20, 700, 400, 4.5624819699710076e-6, 0.99999543751803003},
		{20, 700, 3000, 0.9999999996150331, 3.8496690372020466e-10},
		{1000, 10000.0, 9500, 0.009423103860473556, 0.99057689613952644},
		{1000, 10000.0, 13000, 1.0, 2.249752181053764e-27},
	} {
		law, mirror := NoncentralT{DF: c.df, Delta: c.delta}, NoncentralT{DF: c.df, Delta: -c.delta}
		for what, got := range map[string][2]float64{
			"CDF": {law.CDF(c.x), c.cdf}, "Survival": {law.Survival(c.x), c.survival},
			"Survival of the mirror image": {mirror.Survival(-c.x), c.cdf}, "CDF of the mirror image": {mirror.CDF(-c.x), c.survival},
		} {
			if !near(got[0], got[1], 1e-12) {
				t.Errorf("%v: %s = %.17g, want %.17g", c, what, got[0], got[1])
			}
		}
		if got := NoncentralTDelta(c.df, c.x, c.survival); c.survival < 0.99 && math.Abs(got-c.delta) > 1e-11*c.delta {
			t.Errorf("NoncentralTDelta(%v, %v, %v) = %.17g, want %v", c.df, c.x, c.survival, got, c.delta)
		}
	}
}
