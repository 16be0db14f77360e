package law

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// law is what every one-parameter-list law answers.
type law interface {
	CDF(x float64) float64
	Survival(x float64) float64
	Quantile(p float64) float64
	UpperQuantile(p float64) float64
}

// sided turns a law of maxima into a law.
type sided struct {
	ManyToOneT
	two bool
}

func (s sided) CDF(x float64) float64           { return s.ManyToOneT.CDF(x, s.two) }
func (s sided) Survival(x float64) float64      { return s.ManyToOneT.Survival(x, s.two) }
func (s sided) Quantile(p float64) float64      { return s.ManyToOneT.Quantile(p, s.two) }
func (s sided) UpperQuantile(p float64) float64 { return s.ManyToOneT.UpperQuantile(p, s.two) }

var inf = math.Inf(1)

// someLaws holds laws of every kind, the limits at infinite degrees of freedom included.
var someLaws = []law{
	T{DF: 1}, T{DF: 4.5}, T{DF: 300}, T{DF: inf},
	F{D1: 1, D2: 1}, F{D1: 3, D2: 20}, F{D1: 40.5, D2: 7}, F{D1: 5, D2: inf}, F{D1: inf, D2: 6},
	ChiSquared{DF: 0.7}, ChiSquared{DF: 2}, ChiSquared{DF: 90},
	Beta{A: 0.4, B: 3}, Beta{A: 1.5, B: 20},
	NoncentralT{DF: 6, Delta: 2.5}, NoncentralT{DF: 40, Delta: -1}, NoncentralT{DF: inf, Delta: 3},
	NoncentralF{D1: 3, D2: 20, Lambda: 11}, NoncentralF{D1: 2, D2: inf, Lambda: 0.3},
	NoncentralChiSquared{DF: 1, Lambda: 5}, NoncentralChiSquared{DF: 12, Lambda: 80},
	StudentizedRange{Groups: 2, DF: 5}, StudentizedRange{Groups: 6, DF: 12.5}, StudentizedRange{Groups: 20, DF: inf},
	sided{ManyToOneT{Loadings: []float64{half, half, 0.4}, DF: 9}, true},
	sided{ManyToOneT{Loadings: []float64{half, -0.3}, DF: inf}, false},
}

// TestQuantileInvertsTail asks each law for quantiles from the middle to far
// tails and puts them back.
func TestQuantileInvertsTail(t *testing.T) {
	for _, l := range someLaws {
		for _, p := range []float64{0.9, 0.5, 0.3, 0.05, 1e-3, 1e-7, 1e-12} {
			// A quantile is rounded; where a law of few degrees of freedom is steep in
			// log x that is all of the error.
			if x := l.UpperQuantile(p); !near(l.Survival(x), p, 1e-12) {
				t.Errorf("%#v: Survival(UpperQuantile(%v) = %v) = %.16g", l, p, x, l.Survival(x))
			}
			if x := l.Quantile(p); !near(l.CDF(x), p, 1e-12) {
				t.Errorf("%#v: CDF(Quantile(%v) = %v) = %.16g", l, p, x, l.CDF(x))
			}
		}
	}
}

func near(got, want, tolerance float64) bool {
	return got == want || math.Abs(got-want) <= tolerance*math.Abs(want)
}

// TestTailsAddToOne and fall or rise the right way.
func TestTailsAddToOne(t *testing.T) {
	for _, l := range someLaws {
		lastCDF, lastSurvival := 0.0, 1.0
		for p := 1e-9; p < 1; p = p*1.7 + 0.001 {
			x := l.Quantile(p)
			c, s := l.CDF(x), l.Survival(x)
			if math.Abs(c+s-1) > 1e-13 {
				t.Errorf("%#v at %v: CDF %v and Survival %v do not add to one", l, x, c, s)
			}
			if !(c > lastCDF && s <= lastSurvival) {
				t.Errorf("%#v at %v: CDF %v after %v, Survival %v after %v", l, x, c, lastCDF, s, lastSurvival)
			}
			lastCDF, lastSurvival = c, s
		}
	}
}

// TestEnds checks the special cases of the package comment.
func TestEnds(t *testing.T) {
	for _, l := range someLaws {
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"CDF(-Inf)", l.CDF(-inf), 0},
			{"CDF(+Inf)", l.CDF(inf), 1},
			{"Survival(-Inf)", l.Survival(-inf), 1},
			{"Survival(+Inf)", l.Survival(inf), 0},
			{"CDF(NaN)", l.CDF(math.NaN()), math.NaN()},
			{"Survival(NaN)", l.Survival(math.NaN()), math.NaN()},
			{"Quantile(-0.1)", l.Quantile(-0.1), math.NaN()},
			{"Quantile(1.1)", l.Quantile(1.1), math.NaN()},
			{"UpperQuantile(NaN)", l.UpperQuantile(math.NaN()), math.NaN()},
			{"Quantile(1)-UpperQuantile(0)", l.UpperQuantile(0), l.Quantile(1)},
			{"Quantile(0)-UpperQuantile(1)", l.UpperQuantile(1), l.Quantile(0)},
			{"CDF(Quantile(0))", l.CDF(l.Quantile(0)), 0},
			{"Survival(Quantile(1))", l.Survival(l.Quantile(1)), 0},
		} {
			if c.got != c.want && !(math.IsNaN(c.got) && math.IsNaN(c.want)) {
				t.Errorf("%#v: %s = %v, want %v", l, c.name, c.got, c.want)
			}
		}
	}
}

// TestBeyondFloats asks for tails far below the smallest floating-point number: zero,
// not noise, and the other tail one.
func TestBeyondFloats(t *testing.T) {
	for _, l := range []law{
		T{DF: 1e7}, NoncentralT{DF: 6.6e6, Delta: 27}, NoncentralT{DF: 4e6, Delta: 0.001}, F{D1: 4, D2: 1e7},
		NoncentralChiSquared{DF: 3, Lambda: 9}, NoncentralF{D1: 7, D2: 1e6, Lambda: 40},
		StudentizedRange{Groups: 170, DF: 1e6}, StudentizedRange{Groups: 2, DF: 8e4},
		sided{ManyToOneT{Loadings: []float64{0.5, -0.5}, DF: 8e5}, true}, sided{ManyToOneT{Loadings: []float64{0.5, 0.7}, DF: 8e5}, false},
	} {
		const x = 4e5
		if s, c := l.Survival(x), l.CDF(x); s != 0 || !near(c, 1, 1e-13) {
			t.Errorf("%#v: Survival(%v) = %v, CDF %v", l, x, s, c)
		}
		if s, c := l.Survival(-x), l.CDF(-x); c > 1e-290 || !near(s, 1, 1e-13) {
			t.Errorf("%#v: Survival(%v) = %v, CDF %v", l, -x, s, c)
		}
	}
	for _, l := range []law{NoncentralChiSquared{DF: 12, Lambda: 80}, NoncentralF{D1: 3, D2: 20, Lambda: 11}, NoncentralChiSquared{DF: 500, Lambda: 120}} {
		for _, p := range []float64{1e-250, 1e-290} {
			if x := l.UpperQuantile(p); !near(l.Survival(x), p, 1e-10) {
				t.Errorf("%#v: Survival(UpperQuantile(%v) = %v) = %v", l, p, x, l.Survival(x))
			}
			if x := l.Quantile(p); !near(l.CDF(x), p, 1e-10) {
				t.Errorf("%#v: CDF(Quantile(%v) = %v) = %v", l, p, x, l.CDF(x))
			}
		}
	}
}

// TestParametersOutsideDomain gives NaN everywhere.
func TestParametersOutsideDomain(t *testing.T) {
	nan := math.NaN()
	for _, l := range []law{
		T{}, T{DF: -1}, T{DF: nan}, F{D1: 0, D2: 3}, F{D1: 3, D2: nan}, F{D1: inf, D2: inf}, ChiSquared{}, ChiSquared{DF: inf},
		Beta{A: 1}, Beta{A: nan, B: 1}, NoncentralT{DF: 3, Delta: inf}, NoncentralF{D1: 1, D2: 2, Lambda: -1},
		NoncentralChiSquared{DF: 1, Lambda: nan}, StudentizedRange{Groups: 1, DF: 3}, StudentizedRange{Groups: 3},
		sided{ManyToOneT{Loadings: []float64{0.5, 1}, DF: 3}, true}, sided{ManyToOneT{Loadings: []float64{0.5}}, false},
	} {
		for _, v := range []float64{l.CDF(1), l.Survival(1), l.Quantile(0.3), l.UpperQuantile(0.3)} {
			if !math.IsNaN(v) {
				t.Errorf("%#v answers %v, want NaN", l, v)
			}
		}
	}
}

// TestLawsAgree compares laws that are special cases of each other, at random.
func TestLawsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		df := rapid.Float64Range(1, 200).Draw(t, "df")
		p := math.Pow(10, -rapid.Float64Range(0.31, 13).Draw(t, "digits"))
		x := T{DF: df}.UpperQuantile(p)
		d1 := rapid.Float64Range(0.5, 60).Draw(t, "d1")
		f := F{D1: d1, D2: df}.UpperQuantile(p)
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"F(1, df) is t²", F{D1: 1, D2: df}.Survival(x * x), 2 * p},
			{"range of two is √2 |t|", StudentizedRange{Groups: 2, DF: df}.Survival(math.Sqrt2 * x), 2 * p},
			{"one comparison, two-sided, is |t|", ManyToOneT{Loadings: []float64{0.6}, DF: df}.Survival(x, true), 2 * p},
			{"one comparison, one-sided, is t", ManyToOneT{Loadings: []float64{0.6}, DF: df}.Survival(x, false), p},
			{"F is a ratio of beta", Beta{A: df / 2, B: d1 / 2}.CDF(df / (df + d1*f)), p},
			{"1/F swaps degrees of freedom", F{D1: df, D2: d1}.CDF(1 / f), p},
			{"noncentral F at 0", NoncentralF{D1: d1, D2: df, Lambda: 1e-300}.Survival(f), p},
			{"noncentral t at 0", NoncentralT{DF: df, Delta: 1e-300}.Survival(x), p},
			{"chi-squared of two is exponential", ChiSquared{DF: 2}.Survival(-2 * math.Log(p)), p},
		} {
			if !near(c.got, c.want, 3e-12) {
				t.Errorf("%s: df %v, d1 %v: %.16g, want %.16g", c.name, df, d1, c.got, c.want)
			}
		}
		delta := rapid.Float64Range(-6, 6).Draw(t, "delta")
		n := NoncentralT{DF: df, Delta: delta}
		got, want := NoncentralF{D1: 1, D2: df, Lambda: delta * delta}.Survival(x*x), n.Survival(x)+n.CDF(-x)
		if !near(got, want, 1e-12) {
			t.Errorf("noncentral F(1) at %v, delta %v: %.16g, noncentral t %.16g", x*x, delta, got, want)
		}
	})
}

// TestIndependentLoadings: with loadings 0 and known variance the maximum of n has
// tail 1 - (1-p)^n.
func TestIndependentLoadings(t *testing.T) {
	for _, n := range []int{1, 2, 7, 60} {
		m := ManyToOneT{Loadings: make([]float64, n), DF: inf}
		for _, x := range []float64{-1, 0.3, 2, 6} {
			want := -math.Expm1(float64(n) * math.Log1p(-normalTail(x)))
			if got := m.Survival(x, false); !near(got, want, 1e-13) {
				t.Errorf("%d independent: Survival(%v) = %.16g, want %.16g", n, x, got, want)
			}
		}
	}
}

// TestSmallRange compares the CDF far below the median with its leading term,
// P(R ≤ w) = √k (w/√(2π))^(k-1) (1 + O(w²)).
func TestSmallRange(t *testing.T) {
	for _, k := range []int{2, 3, 5, 12} {
		const w = 1e-7
		want := math.Sqrt(float64(k)) * math.Pow(w/math.Sqrt(2*math.Pi), float64(k-1))
		if got := (StudentizedRange{Groups: k, DF: inf}).CDF(w); !near(got, want, 1e-12) {
			t.Errorf("%d groups: CDF(%v) = %.16g, want %.16g", k, w, got, want)
		}
		// With an estimated scale the leading term takes the moment E S^(k-1).
		const df = 6.0
		a, _ := math.Lgamma((df + float64(k-1)) / 2)
		b, _ := math.Lgamma(df / 2)
		want *= math.Exp(a-b) * math.Pow(2/df, float64(k-1)/2)
		if got := (StudentizedRange{Groups: k, DF: df}).CDF(w); !near(got, want, 1e-12) {
			t.Errorf("%d groups, 6 degrees of freedom: CDF(%v) = %.16g, want %.16g", k, w, got, want)
		}
	}
}

// TestNoncentrality puts the noncentrality back into the law.
func TestNoncentrality(t *testing.T) {
	for _, df := range []float64{1, 4, 22.5, 400, inf} {
		crit := T{DF: df}.UpperQuantile(0.025)
		for _, power := range []float64{0.06, 0.3, 0.8, 0.9, 0.999, 1 - 1e-9} {
			d := NoncentralityT(df, crit, power)
			n := NoncentralT{DF: df, Delta: d}
			if miss := n.CDF(crit) - n.CDF(-crit); !near(miss, 1-power, 1e-9) || !near(n.Survival(crit)+n.CDF(-crit), power, 1e-11) {
				t.Errorf("NoncentralityT(%v, %v, %v) = %v: power %.16g", df, crit, power, d, n.Survival(crit)+n.CDF(-crit))
			}
			for _, d1 := range []float64{1, 3, 30} {
				critical := F{D1: d1, D2: df}.UpperQuantile(0.05)
				lambda := NoncentralityF(d1, df, critical, power)
				if got := (NoncentralF{D1: d1, D2: df, Lambda: lambda}).Survival(critical); !near(got, power, 1e-12) {
					t.Errorf("NoncentralityF(%v, %v, %v, %v) = %v: power %.16g", d1, df, critical, power, lambda, got)
				}
			}
		}
		for _, x := range []float64{-8, -0.4, 0, 1.5, 12} {
			for _, p := range []float64{1e-6, 0.025, 0.4, 0.5, 0.975} {
				d := NoncentralTDelta(df, x, p)
				if got := (NoncentralT{DF: df, Delta: d}).Survival(x); !near(got, p, 1e-12) {
					t.Errorf("NoncentralTDelta(%v, %v, %v) = %v: Survival %.16g", df, x, p, d, got)
				}
			}
		}
	}
	if d := NoncentralityT(10, 2, 0.01); !math.IsNaN(d) {
		t.Errorf("a power below the level needs noncentrality %v, want NaN", d)
	}
	if l := NoncentralityChiSquared(3, 7.8, 0.9); !near(NoncentralChiSquared{DF: 3, Lambda: l}.Survival(7.8), 0.9, 1e-12) {
		t.Errorf("NoncentralityChiSquared(3, 7.8, 0.9) = %v", l)
	}
}

// TestConcurrentFirstUse has several goroutines ask for curves that are not made yet.
func TestConcurrentFirstUse(t *testing.T) {
	got := make(chan float64)
	for range 4 {
		go func() {
			got <- StudentizedRange{Groups: 17, DF: 9}.Survival(5) +
				ManyToOneT{Loadings: []float64{0.31, 0.32}, DF: 9}.Survival(2, true)
		}()
	}
	first := <-got
	for range 3 {
		if v := <-got; v != first {
			t.Errorf("goroutines disagree: %v and %v", first, v)
		}
	}
}

func ExampleStudentizedRange() {
	// Tukey's critical value for all pairs of five groups, ten degrees of freedom.
	fmt.Printf("%.3f\n", StudentizedRange{Groups: 5, DF: 10}.UpperQuantile(0.05))
	// Output: 4.654
}

func ExampleManyToOneT() {
	// Dunnett's two-sided critical value for three groups of 8 and a control of 12 (R's
	// qmvt gives 2.4840).
	law := ManyToOneT{Loadings: ControlLoadings(12, 8, 8, 8), DF: 32}
	fmt.Printf("%.3f\n", law.UpperQuantile(0.05, true))
	// Output: 2.484
}

func ExampleNoncentralityT() {
	// How far apart, in standard errors, must two means be for a power of 90 % (R's pt
	// and uniroot give 3.48906)?
	critical := T{DF: 14}.UpperQuantile(0.025)
	fmt.Printf("%.3f\n", NoncentralityT(14, critical, 0.9))
	// Output: 3.489
}
