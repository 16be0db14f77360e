package law

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// TestNearProduct: laws with two common factors, the second one weak, are expanded, and in fewer than
// five variables too; what is far from product structure is not.
func TestNearProduct(t *testing.T) {
	twoFactors(t, true, func(m MultivariateT, two bool, x, want float64) {
		if law := lawOf(m.Corr, two); law.near == nil {
			t.Errorf("n = %v: no series", law.n)
		}
	})
	twoFactors(t, false, func(m MultivariateT, two bool, x, want float64) {
		if law := lawOf(m.Corr, two); law.near != nil {
			t.Errorf("n = %v: a series", law.n)
		}
	})
}

// TestNearProductAgainstSpatial disturbs three variables by any correlations, where the answer is
// exact, about equal loadings and about those that fit best: the last sum shows the error.
func TestNearProductAgainstSpatial(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		corr := product(0.7, 0.65, 0.75)
		off := rapid.Float64Range(-0.08, 0.08)
		for i := range 3 {
			for j := range i {
				corr.SetSym(i, j, corr.At(i, j)+off.Draw(t, "disturbance"))
			}
		}
		two := rapid.Bool().Draw(t, "two-sided")
		w := rapid.Float64Range(0.5, 6).Draw(t, "w")
		want := math.Exp(newSpatial(corr, two).logTail(w))
		for _, loadings := range [][]float64{equalLoadings(3), {0.7, 0.65, 0.75}} {
			log, share := nearProductOf(corr, loadings, two).integrate(w)
			if p := math.Exp(log); !(math.Abs(p-want) <= (2*share+1e-10)*p) {
				t.Fatalf("about %v: P(max > %v) = %v with a share of %v, want %v", loadings, w, p, share, want)
			}
		}
	})
}

// TestNearProductQuantile: the tail at the quantile is the one asked for, on both sides of 1/2.
func TestNearProductQuantile(t *testing.T) {
	corr := product(0.7, 0.6, 0.65, 0.75)
	corr.SetSym(0, 1, 0.45)
	corr.SetSym(2, 3, 0.45)
	m := MultivariateT{Corr: corr, DF: 9}
	for _, two := range []bool{true, false} {
		for _, p := range []float64{0.9, 0.3, 0.05, 1e-6} {
			x, bound := m.UpperQuantile(p, two)
			q, _ := m.Survival(x, two)
			if !near(q, p, 1e-9) || !(bound < 1e-4*math.Max(0.1, math.Abs(x))) {
				t.Errorf("UpperQuantile(%v, %v) = %v ± %v has tail %v", p, two, x, bound, q)
			}
		}
	}
}

// TestLinkedAlike: where all derivatives are equal, powers of one number do for vectors.
func TestLinkedAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n = 5
		r := make([]float64, n*n)
		for i := range n {
			for j := range i {
				r[i*n+j] = rapid.Float64Range(-0.3, 0.3).Draw(t, "r")
				r[j*n+i] = r[i*n+j]
			}
		}
		l := newLinked(n, r)
		vectors := func(f [linkedOrder]float64) *[linkedOrder][]float64 {
			var out [linkedOrder][]float64
			for d, v := range f {
				for range n {
					out[d] = append(out[d], v)
				}
			}
			return &out
		}
		scratch := make([]float64, 6*n)
		unit := l.sums(vectors([linkedOrder]float64{1, 1, 1, 1}), scratch)
		f := [linkedOrder]float64{-0.3, 0.7, 1.1, -0.4}
		want, got := l.sums(vectors(f), scratch), unit.alike(&f)
		for k := range want {
			if math.Abs(got[k]-want[k]) > 1e-12 {
				t.Fatalf("%+v: %v, want %v", diagrams[k], got[k], want[k])
			}
		}
	})
}

// TestLinkedGaussian: for log F_i = a_i ξ - b_i ξ²/2 the expectation is in closed form,
//
//	log E exp(a·ξ - ξ'Bξ/2) = a'(R⁻¹+B)⁻¹a/2 - log det(1+RB)/2,
//
// and the diagrams without a vertex of three or four edges are its expansion in R: checked by how
// fast what is left falls when R does.
func TestLinkedGaussian(t *testing.T) {
	const n = 4
	base := []float64{0, 0.3, -0.2, 0.1, 0.3, 0, 0.25, -0.3, -0.2, 0.25, 0, 0.2, 0.1, -0.3, 0.2, 0}
	a, b := []float64{0.8, -0.5, 1.1, 0.4}, []float64{0.5, 1.2, 0.7, 0.9}
	left := func(scale float64) float64 {
		r := make([]float64, n*n)
		for i := range r {
			r[i] = scale * base[i]
		}
		f := [linkedOrder][]float64{a, make([]float64, n), make([]float64, n), make([]float64, n)}
		one := mat.NewDense(n, n, nil) // 1 + RB
		for i := range n {
			f[1][i] = -b[i]
			for j := range n {
				one.Set(i, j, r[i*n+j]*b[j])
			}
			one.Set(i, i, 1+one.At(i, i))
		}
		// (R⁻¹+B)⁻¹ = (1+RB)⁻¹ R
		var solved mat.Dense
		if err := solved.Solve(one, mat.NewDense(n, n, r)); err != nil {
			t.Fatal(err)
		}
		want := -math.Log(mat.Det(one)) / 2
		for i := range n {
			for j := range n {
				want += a[i] * solved.At(i, j) * a[j] / 2
			}
		}
		sums := newLinked(n, r).sums(&f, make([]float64, 6*n))
		three, four := sums.orders()
		return math.Abs(three + four - want)
	}
	if coarse, fine := left(0.4), left(0.1); !(fine < coarse/700) { // 4^5 = 1024
		t.Errorf("left out at a scale of 0.4 %v, of 0.1 %v: not of fifth order", coarse, fine)
	}
}

// TestDiagrams: each edge has two ends.
func TestDiagrams(t *testing.T) {
	for _, d := range diagrams {
		if ends := d.one + 2*d.two + 3*d.three + 4*d.four; ends != 2*d.edges {
			t.Errorf("%+v has %d ends", d, ends)
		}
	}
}

// TestNearProductTail: the tail falls from one to zero, whatever the degrees of freedom, and lies between
// the largest of the single tails and their sum.
func TestNearProductTail(t *testing.T) {
	corr := product(0.7, 0.6, 0.65, 0.75, 0.5)
	corr.SetSym(0, 1, 0.46)
	corr.SetSym(2, 3, 0.45)
	for _, df := range []float64{1, 3, 40, inf} {
		one := T{DF: df}
		for _, two := range []bool{true, false} {
			law := lawOf(corr, two).near
			if law == nil {
				t.Fatal("no series")
			}
			before := 1.0
			for x := -8.0; x < 80; x += 0.37 {
				if two && x <= 0 {
					continue
				}
				p, single := law.survival(df, x), one.Survival(x)
				if two {
					single *= 2
				}
				if !(p <= before*(1+1e-7) && p >= single*(1-1e-7) && p <= math.Min(1, 5*single)*(1+1e-7)) {
					t.Errorf("df %v, two-sided %v: P(max > %v) = %v after %v, one alone %v", df, two, x, p, before, single)
				}
				before = p
			}
		}
	}
}
