package compare

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"fairrun/stats/law"
)

// TestFamiliesAgree: a family of one comparison is Student's t, whichever way
// it is said; a balanced baseline is the joint law with correlation 1/2; the
// adjusted p-value at the critical value is alpha.
func TestFamiliesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		df := rapid.Float64Range(2, 200).Draw(t, "df")
		alpha := rapid.Float64Range(0.001, 0.3).Draw(t, "alpha")
		same := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1e-8*want {
				t.Fatalf("%s = %v, want %v", what, got, want)
			}
		}
		student := law.T{DF: df}.UpperQuantile(alpha / 2)
		one := mat.NewSymDense(1, []float64{1})
		for name, f := range map[string]Family{"single": Single{}, "pairs": Pairs{Levels: 2}, "baseline": Baseline{Levels: 2}, "best": Best{Levels: 2}, "joint": Joint{Corr: one}} {
			same(name, f.Critical(alpha, df), student)
		}
		half := mat.NewSymDense(3, []float64{1, .5, .5, .5, 1, .5, .5, .5, 1})
		same("baseline of four", Baseline{Levels: 4}.Critical(alpha, df), Joint{Corr: half}.Critical(alpha, df))
		for _, f := range []Family{Single{}, Pairs{Levels: 5}, Baseline{Levels: 4}, Best{Levels: 4}, OneTable([]Family{Pairs{Levels: 3}, Single{}, Baseline{Levels: 5}})} {
			same("alpha", f.Adjust(f.Critical(alpha, df), df), alpha)
		}
	})
}

// TestPublished: q(.05; 5, 10) = 4.65 in the NIST/SEMATECH e-Handbook of
// Statistical Methods, 7.4.6.1; Dunnett 1955, JASA 50, one-sided .05 with 20 df
// for 2…5 treatments.
func TestPublished(t *testing.T) {
	if got := (Pairs{Levels: 5}).Critical(0.05, 10) * math.Sqrt2; math.Abs(got-4.65) > 0.005 {
		t.Errorf("q = %v, want 4.65", got)
	}
	for i, want := range []float64{2.03, 2.19, 2.30, 2.39} {
		// 2.3051 is printed as 2.30.
		if got := manyToOne(i+3, 20).UpperQuantile(0.05, false); math.Abs(got-want) > 0.0055 {
			t.Errorf("d for %d treatments = %v, want %v", i+2, got, want)
		}
	}
}

// TestGAgreesWithInterval: with the level that the family leaves to one
// comparison, g's interval is clear of zero exactly when the difference's is.
func TestGAgreesWithInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		df := rapid.Float64Range(2, 60).Draw(t, "df")
		x := rapid.Float64Range(-6, 6).Draw(t, "t")
		f := Pairs{Levels: rapid.IntRange(2, 8).Draw(t, "levels")}
		crit := f.Critical(0.05, df)
		if math.Abs(math.Abs(x)-crit) < 1e-6 {
			t.Skip("on the border")
		}
		g := Standardise(x, 1, 1, df, Level(crit, df))
		if got, want := g.Low > 0 || g.High < 0, math.Abs(x) > crit; got != want {
			t.Fatalf("t = %v, critical %v: g between %v and %v", x, crit, g.Low, g.High)
		}
		if !(g.Low < g.High) || g.G < g.Low && g.G > g.High {
			t.Fatalf("g = %v between %v and %v", g.G, g.Low, g.High)
		}
	})
}

// TestPercentAgreesWithInterval: Fieller's interval excludes zero exactly when
// the difference's own does, whatever the sign of the reference mean.
func TestPercentAgreesWithInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(-5, 5).Draw(t, "d")
		m := rapid.Float64Range(-40, 40).Draw(t, "m")
		vd := rapid.Float64Range(0.01, 2).Draw(t, "variance of d")
		vm := rapid.Float64Range(0.01, 2).Draw(t, "variance of m")
		cov := rapid.Float64Range(-0.9, 0.9).Draw(t, "correlation") * math.Sqrt(vd*vm)
		c := rapid.Float64Range(1, 4).Draw(t, "c")
		_, low, high := Percent(d, m, vd, vm, cov, c)
		if clear := math.Abs(m) > c*math.Sqrt(vm)*1.0001; !clear {
			if math.Abs(m) < c*math.Sqrt(vm)*0.9999 && !math.IsNaN(low) {
				t.Fatalf("a reference that may be zero gives %v to %v", low, high)
			}
			return
		}
		if math.Abs(math.Abs(d)-c*math.Sqrt(vd)) < 1e-6 {
			t.Skip("on the border")
		}
		if got, want := low > 0 || high < 0, math.Abs(d) > c*math.Sqrt(vd); got != want {
			t.Fatalf("d = %v ± %v but %v to %v %%", d, c*math.Sqrt(vd), low, high)
		}
		if low > 0 && d < 0 || high < 0 && d > 0 {
			t.Fatalf("the sign of d = %v is lost: %v to %v", d, low, high)
		}
	})
}

// TestLeadsOfTwoLevels: with two levels each is compared with the other by the two-sided t, and the
// two statements mirror each other.
func TestLeadsOfTwoLevels(t *testing.T) {
	cov := mat.NewSymDense(2, []float64{0.3, 0, 0, 0.2})
	const df, alpha = 12, 0.05
	c := law.T{DF: df}.UpperQuantile(alpha/2) * math.Sqrt(0.5)
	b := Leads([]float64{10, 11}, cov, df, alpha)
	near(t, "low", b[0].Low, -1-c, 1e-9)
	near(t, "high", b[0].High, -1+c, 1e-9)
	near(t, "low of the other", b[1].Low, -b[0].High, 1e-9)
	near(t, "high of the other", b[1].High, -b[0].Low, 1e-9)
	near(t, "p", b[0].P, 2*law.T{DF: df}.Survival(1/math.Sqrt(0.5)), 1e-9)
	if b[0].Rival != 1 || b[1].Rival != 0 {
		t.Errorf("rivals %d and %d", b[0].Rival, b[1].Rival)
	}
}

func TestOmegaSquared(t *testing.T) {
	// By hand: one-way, 4 groups of 5, SS 38.820 on 3 and 21.292 on 16 (the worked
	// example of the NIST/SEMATECH e-Handbook, 7.4.3).
	ms := 21.292 / 16
	near(t, "omega", OmegaSquared(38.820, 3, ms, 60.112), (38.820-3*ms)/(60.112+ms), 1e-15)
	near(t, "eta", EtaSquaredPartial(38.820, 21.292), 38.820/60.112, 1e-15)
	if got := OmegaSquared(1, 3, 2, 40); got != 0 {
		t.Errorf("a negative estimate is reported as %v, want 0", got)
	}
}

func BenchmarkStandardise(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		sink = Standardise(2.1, 1, 1.5, 18, 0.01).Low
	}
}

func BenchmarkLeads8(b *testing.B) {
	mean := []float64{1, 2, 3, 4, 5, 6, 7, 8}
	cov := mat.NewSymDense(8, nil)
	for i := range 8 {
		cov.SetSym(i, i, 0.2)
	}
	b.ReportAllocs()
	for b.Loop() {
		sink = Leads(mean, cov, 40, 0.05)[0].Low
	}
}

var sink float64
