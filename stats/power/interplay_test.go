package power

import (
	"math"
	"testing"

	"fairrun/stats/compare"
)

// Values of testdata/interplay.py (scipy's adaptive integrals).
func TestFoundBySpecimens(t *testing.T) {
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	for _, r := range []struct{ delta, df, rest, within, want float64 }{
		{4, 1, 9, 1, 0.000549043},
		{4, 1, 9, 0.8, 0.001243869},
		{7, 2, 33, 1, 0.908468306},
		{3.4, 3, 18, 0.5, 0.603303954},
		{90, 0.6, 9, 0.9, 0.798231364},
		{13, 1, 9, 0.9, 0.509488423},
	} {
		p := Precision{SE: 1, DF: r.df, Within: r.within, WithinDF: r.rest}
		got, err := c.Power(r.delta, 1, p)
		if err != nil || math.Abs(got-r.want) > 1e-5 {
			t.Errorf("Power(%v, 1, %+v) = %v, %v, want %v", r.delta, p, got, err, r.want)
		}
		back, err := c.Detectable(got, 1, p)
		if err != nil || math.Abs(back-r.delta) > 1e-3 {
			t.Errorf("Detectable(%v, 1, %+v) = %v, %v, want %v", got, p, back, err, r.delta)
		}
		// Words add up, and those clear of zero are what is found.
		w, err := c.Words(1, r.delta, 1, p)
		if sum := w.Matters + w.Real + w.Trivial + w.Equal + w.Unresolved; err != nil || math.Abs(sum-1) > 1e-5 {
			t.Errorf("Words(1, %v, 1, %+v) add up to %v, %v", r.delta, p, sum, err)
		}
		if clear := w.Matters + w.Real + w.Trivial; math.Abs(clear-got) > 1e-5 {
			t.Errorf("Words(1, %v, 1, %+v): clear of zero %v, found %v", r.delta, p, clear, got)
		}
	}
}

func TestWithInterplay(t *testing.T) {
	// 3 specimens, 12 blocks of two runs of each of two levels: 24 runs of each, 34 degrees of freedom beside linear drift.
	p := Precision{SE: math.Sqrt(2.0 / 24), DF: 34}
	got := p.WithInterplay(3, 2, 0.5, 0)
	want := Precision{SE: math.Sqrt(1.0 / 4), DF: 2, Within: 1.0 / 3, WithinDF: 32} // 2/24 + 2·0.25/3
	for _, x := range []struct{ got, want float64 }{{got.SE, want.SE}, {got.DF, want.DF}, {got.Within, want.Within}, {got.WithinDF, want.WithinDF}} {
		if math.Abs(x.got-x.want) > 1e-12 {
			t.Errorf("WithInterplay(3, 2, 0.5, 0) = %+v, want %+v", got, want)
		}
	}
	if got := p.WithInterplay(3, 2, 0.5, 0.5).DF; got != 0.5 { // 2 · ½²
		t.Errorf("with half of what is known gone to drift: DF = %v, want 0.5", got)
	}
	// One run of each level on each of 4 specimens leaves 3 − 1 degrees of freedom, all of them the specimens'.
	if got := (Precision{SE: math.Sqrt(2.0 / 4), DF: 2}).WithInterplay(4, 2, 0, 0.25); got.DF != 2 || got.Within != 0 {
		t.Errorf("with one run on each specimen: %+v, want 2 degrees of freedom and nothing within", got)
	}
}

func TestFractionalDegreesOfFreedom(t *testing.T) {
	// mpmath 1.3: the 0.975 quantile of Student's t with half a degree of freedom.
	c, err := Look{Level: 0.05}.Critical(0.5)
	if want := 164.557673480489; err != nil || math.Abs(c/want-1) > 1e-9 {
		t.Errorf("Critical(0.5) = %v, %v, want %v", c, err, want)
	}
	if _, err := (Look{Level: 0.05}).Critical(0); err != ErrNoDF {
		t.Errorf("Critical(0): %v, want ErrNoDF", err)
	}
}

func BenchmarkFoundBySpecimens(b *testing.B) {
	b.ReportAllocs()
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	for b.Loop() {
		sink, _ = c.Power(7, 1, Precision{SE: 1, DF: 2, Within: 0.8, WithinDF: 33})
	}
}
