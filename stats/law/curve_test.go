package law

import (
	"math"
	"testing"
)

// TestCurve compares interpolants with the functions they stand for, between the
// nodes: the relative error that it adds to a probability.
func TestCurve(t *testing.T) {
	check := func(name string, c *curve, lo, hi float64) {
		worst, at := 0.0, 0.0
		for x := lo; x < hi; x += 0.317 {
			want := c.f(x)
			// The logarithm itself is rounded to an ulp of its size.
			if e := math.Abs(c.at(x)-want) / math.Max(1, math.Abs(want)/10); e > worst {
				worst, at = e, x
			}
		}
		if worst > 3e-13 {
			t.Errorf("%s: error %.1e at %v", name, worst, at)
		}
	}
	for _, k := range []int{3, 10, 100} {
		r := rangeOf(k)
		check("range", r.upper, 0.01, rangeTop)
		check("range CDF", r.lower, 0.01, 12)
	}
	for _, l := range [][]float64{equalLoadings(4), {0.2, 0.5, 0.95}, {-0.6, 0, 0.3}} {
		two, one := newOneFactor(l, true), newOneFactor(l, false)
		check("two-sided", two.upper, 0.01, 30)
		check("two-sided CDF", two.lower, 0.01, 12)
		check("one-sided", one.upper, -8, 30)
		check("one-sided CDF", one.lower, -12, 8)
	}
}

// TestNormalInterval compares short and long intervals with mpmath, 30 digits:
// ncdf(a+w) - ncdf(a).
func TestNormalInterval(t *testing.T) {
	for _, c := range []struct{ a, w, want float64 }{
		{0.0, 1e-09, 3.98942280401432703e-10},
		{-0.5, 0.99, 0.379395511856622554},
		{-0.5, 1.0, 0.382924922548026207},
		{3.25, 0.125, 0.000207946588115699734},
		{-9.0, 0.5, 9.36667598160793429e-18},
		{2.0, 5.0, 0.0227501319468993947},
		{-7.0, 2.0, 2.86650292066650026e-7},
		{-3.0, 8.0, 0.998649815316798026},
		{20.0, 0.001, 5.46610420231762394e-91},
		{-0.25, 40.0, 0.598706325682923724},
	} {
		if got := normalInterval(c.a, c.w); !near(got, c.want, 2e-15*(1+c.a*c.a/4)) {
			t.Errorf("normalInterval(%v, %v) = %.17g, want %.17g", c.a, c.w, got, c.want)
		}
	}
}
