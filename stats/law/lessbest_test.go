package law

import (
	"math"
	"testing"
)

// TestLessBest compares the constants with those of an independent program, and the chance of a miss with quadrature at
// 18 digits (testdata/lessbest.py).
func TestLessBest(t *testing.T) {
	for _, c := range []struct {
		k            int
		df           float64
		lower, upper float64
	}{
		{3, 10, 2.521, 2.7413},
		{4, 12, 2.584, 2.9689},
		{5, 20, 2.525, 2.9924},
		{8, 28, 2.604, 3.2702},
	} {
		b := LessBest{Groups: c.k, DF: c.df}
		if got := b.Lower(0.05); math.Abs(got-c.lower) > 1e-3 {
			t.Errorf("%+v: Lower = %.6f, want %v", b, got, c.lower)
		}
		if got := b.Upper(0.05); math.Abs(got-c.upper) > 6e-5 {
			t.Errorf("%+v: Upper = %.6f, want %v", b, got, c.upper)
		}
	}
	for _, r := range grid(t, "lessbest.csv") {
		b := LessBest{Groups: int(r[0]), DF: r[1]}
		if got := b.Miss(r[2], r[3]); !near(got, r[4], 1e-9) {
			t.Errorf("%+v: Miss(%v, %v) = %.14g, want %.14g", b, r[2], r[3], got, r[4])
		}
	}
}

// TestLessBestInverts asks for p-values of constants, far out and near, and for their order.
func TestLessBestInverts(t *testing.T) {
	for _, b := range []LessBest{{2, 7}, {3, 1}, {3, 4}, {5, 20}, {12, 30}, {4, math.Inf(1)}} {
		last := 0.0
		for _, alpha := range []float64{0.9, 0.5, 0.2, 0.05, 0.01, 1e-4, 1e-9} {
			lower, upper := b.Lower(alpha), b.Upper(alpha)
			if !(lower > last) || lower > upper*(1+1e-12) {
				t.Errorf("%+v, alpha %v: lower %v after %v, upper %v", b, alpha, lower, last, upper)
			}
			last = lower
			if got := b.LowerP(lower); !near(got, alpha, 1e-7) {
				t.Errorf("%+v: LowerP(%v) = %.12g, want %v", b, lower, got, alpha)
			}
			if got := b.UpperP(upper); !near(got, alpha, 1e-10) {
				t.Errorf("%+v: UpperP(%v) = %.12g, want %v", b, upper, got, alpha)
			}
		}
	}
	two := LessBest{Groups: 2, DF: 9}
	if got, want := two.Lower(0.05), (T{DF: 9}).UpperQuantile(0.025); got != want {
		t.Errorf("two groups: %v, want Student's %v", got, want)
	}
	for _, got := range []float64{LessBest{1, 4}.Lower(0.05), LessBest{3, 0}.LowerP(2), LessBest{3, 4}.Lower(2), LessBest{3, 4}.Miss(math.NaN(), 1)} {
		if !math.IsNaN(got) {
			t.Errorf("outside the domain: %v, want NaN", got)
		}
	}
}

// BenchmarkLessBest makes a constant that is not kept, and a p-value.
func BenchmarkLessBest(b *testing.B) {
	law := LessBest{Groups: 5, DF: 20}
	b.Run("Lower", func(b *testing.B) {
		for b.Loop() {
			sink = law.solveLower(0.05)
		}
	})
	b.Run("LowerP", func(b *testing.B) {
		for b.Loop() {
			sink = law.LowerP(3.1)
		}
	})
}

// The chance of a lead over others: 1/k at no distance, by symmetry; for two levels the normal law; and values of mpmath's
// quadrature with 30 digits,
//
//	quad(lambda u: npdf(u)*ncdf(u+sqrt(2)*z)**(k-1), linspace(-12, 12, 49)).
func TestAhead(t *testing.T) {
	for k := 2; k <= 40; k++ {
		if got := (LessBest{Groups: k}).Ahead(0); math.Abs(got*float64(k)-1) > 1e-12 {
			t.Errorf("%d levels: Ahead(0) = %v, want 1/%d", k, got, k)
		}
	}
	for _, c := range aheadValues {
		if got := (LessBest{Groups: c.k}).Ahead(c.z); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%d levels: Ahead(%v) = %.15f, want %.15f", c.k, c.z, got, c.want)
		}
	}
}

var aheadValues = []struct {
	k    int
	z    float64
	want float64
}{
	{3, 0.5, 0.546244443857089579},
	{3, -2, 0.00405294623516297969},
	{5, 1.5, 0.815128808225883363},
	{5, 3, 0.99503585916839931},
	{8, -1, 0.00861338457150022751},
	{12, 2.5, 0.95281870968763495},
	{40, 4, 0.998966444696688707},
	{4, 7, 0.999999999996160714},
}
