package law

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// allPairs returns the correlations of all differences of k independent means of
// equal variance, a singular matrix.
func allPairs(k int) *mat.SymDense {
	var pairs [][2]int
	for i := range k {
		for j := range i {
			pairs = append(pairs, [2]int{i, j})
		}
	}
	corr := mat.NewSymDense(len(pairs), nil)
	for i, a := range pairs {
		for j, b := range pairs[:i+1] {
			r := 0.0
			for s, x := range a {
				for t, y := range b {
					if x == y && s == t {
						r += 0.5
					} else if x == y {
						r -= 0.5
					}
				}
			}
			corr.SetSym(i, j, r)
		}
	}
	return corr
}

// product returns the correlation matrix with the given loadings.
func product(l ...float64) *mat.SymDense {
	if len(l) == 0 {
		return &mat.SymDense{}
	}
	corr := mat.NewSymDense(len(l), nil)
	for i := range l {
		for j := range i {
			corr.SetSym(i, j, l[i]*l[j])
		}
		corr.SetSym(i, i, 1)
	}
	return corr
}

// TestMultivariateTAllPairs compares with the studentized range, to the bound that comes
// with the answer: pairs of four means in closed form, of six by sampling.
func TestMultivariateTAllPairs(t *testing.T) {
	for _, c := range []struct {
		groups       int
		df, q, bound float64
	}{{3, 7, 4, 2e-11}, {4, 7, 1.5, 2e-11}, {4, 7, 4, 2e-11}, {4, 7, 11, 2e-11}, {4, inf, 1.5, 2e-11}, {4, inf, 4, 2e-11}, {4, inf, 11, 2e-11}, {6, 15, 4.5, 3e-3}} {
		m := MultivariateT{Corr: allPairs(c.groups), DF: c.df}
		p, bound := m.Survival(c.q/math.Sqrt2, true)
		want := StudentizedRange{Groups: c.groups, DF: c.df}.Survival(c.q)
		if !(math.Abs(p-want) <= bound) || bound > c.bound*p {
			t.Errorf("%v: Survival = %v ± %v, want %v", c, p, bound, want)
		}
	}
	for _, c := range []struct {
		groups   int
		p, bound float64
	}{{4, 0.9, 1e-10}, {4, 1e-3, 1e-10}, {6, 0.9, 4e-3}, {6, 0.2, 2e-3}, {6, 0.05, 1e-3}} {
		x, bound := MultivariateT{Corr: allPairs(c.groups), DF: 15}.UpperQuantile(c.p, true)
		want := StudentizedRange{Groups: c.groups, DF: 15}.UpperQuantile(c.p) / math.Sqrt2
		if !(math.Abs(x-want) <= bound) || bound > c.bound*x {
			t.Errorf("%v: UpperQuantile = %v ± %v, want %v", c, x, bound, want)
		}
	}
}

// TestUnionAgainstFactor lets the quasi-Monte Carlo estimate, without its control, do what the
// factor integral does exactly, one-sided too.
func TestUnionAgainstFactor(t *testing.T) {
	l := []float64{0.7, 0.5, 0.3, -0.4}
	for _, two := range []bool{false, true} {
		for _, x := range []float64{-1, 0.5, 2, 9} {
			if two && x < 0 {
				continue
			}
			u := newUnion(product(l...), two)
			u.control = nil
			p, bound, _ := u.adaptive(8, x)
			if want := (ManyToOneT{Loadings: l, DF: 8}).Survival(x, two); !(math.Abs(p-want) <= bound) || bound > 2e-4*p {
				t.Errorf("Survival(%v, %v) = %v ± %v, want %v", x, two, p, bound, want)
			}
		}
	}
}

// TestUnionControl disturbs product structure and compares what the control leaves to be
// estimated with the estimate of the whole.
func TestUnionControl(t *testing.T) {
	for _, disturbed := range []float64{0.01, 0.05} {
		corr := product(0.7, 0.72, -0.65, 0.5)
		for i := range 4 {
			for j := range i {
				corr.SetSym(i, j, corr.At(i, j)+disturbed*float64(1-2*((i+j)%2)))
			}
		}
		for _, two := range []bool{true, false} {
			with, without := newUnion(corr, two), newUnion(corr, two)
			if with.control == nil {
				t.Fatalf("no control for a matrix disturbed by %v", disturbed)
			}
			without.control = nil
			for _, x := range []float64{0.5, 2.2, 6} {
				p, bound, points := with.adaptive(20, x)
				q, wide, _ := without.adaptive(20, x)
				if !(math.Abs(p-q) <= bound+wide) || bound > aim*p || points > 512 {
					t.Errorf("disturbed by %v, P(max > %v) = %v ± %v with %d points; without control %v ± %v", disturbed, x, p, bound, points, q, wide)
				}
			}
			x, bound := with.quantile(20, 0.05, 2)
			if p, off, _ := without.adaptive(20, x); math.Abs(p-0.05) > 2*aim*0.05+off || bound > 2e-5*x {
				t.Errorf("disturbed by %v: quantile %v ± %v has tail %v, want 0.05", disturbed, x, bound, p)
			}
		}
	}
}

// twoFactors calls f for each law of testdata/twofactor.csv that is near product structure, or far
// from it.
func twoFactors(t *testing.T, near bool, f func(m MultivariateT, two bool, x, want float64)) {
	t.Helper()
	for _, r := range grid(t, "twofactor.csv") {
		if (r[0] == 1) != near {
			continue
		}
		l := r[5:]
		n := len(l) / 2
		corr := product(l[:n]...)
		for i := range n {
			for j := range i {
				corr.SetSym(i, j, corr.At(i, j)+l[n+i]*l[n+j])
			}
		}
		f(MultivariateT{Corr: corr, DF: r[2]}, r[1] == 1, r[3], r[4])
	}
}

// TestKeptQuantile: a matrix that differs by rounding only has the same quantile, asked for
// before or not, and another law another one.
func TestKeptQuantile(t *testing.T) {
	awkward := func() *mat.SymDense {
		corr := product(0.7, 0.6, 0.1, -0.5)
		corr.SetSym(0, 3, 0.4)
		corr.SetSym(1, 2, 0.6)
		return corr
	}
	clear(maxima.law)
	m := MultivariateT{Corr: awkward(), DF: 15}
	x, bound := m.UpperQuantile(0.05, true)
	near := awkward()
	near.SetSym(0, 1, near.At(0, 1)*(1+0x1p-50))
	for _, corr := range []mat.Symmetric{awkward(), near} {
		if y, b := (MultivariateT{Corr: corr, DF: 15}).UpperQuantile(0.05, true); y != x || b != bound {
			t.Errorf("asked again: %v ± %v, before %v ± %v", y, b, x, bound)
		}
	}
	if law := lawOf(awkward(), true); len(maxima.law) != 1 || law.spatial != nil || law.near != nil || len(law.quantiles) != 1 {
		t.Errorf("%d laws, and one that holds %d quantiles, want 1 and 1, sampled", len(maxima.law), len(law.quantiles))
	}
	clear(maxima.law)
	if y, _ := (MultivariateT{Corr: near, DF: 15}).UpperQuantile(0.05, true); y != x {
		t.Errorf("forgotten: %v, before %v", y, x)
	}
	if y, _ := (MultivariateT{Corr: near, DF: 16}).UpperQuantile(0.05, true); y == x {
		t.Errorf("16 degrees of freedom have the quantile of 15")
	}
	if y, _ := m.UpperQuantile(0.05, false); y == x {
		t.Errorf("one-sided is two-sided")
	}
}

// TestMultivariateTProduct: product structure is found and makes the answer exact.
func TestMultivariateTProduct(t *testing.T) {
	l := []float64{half, 0.6, 0.55}
	m, want := MultivariateT{Corr: product(l...), DF: 11}, ManyToOneT{Loadings: l, DF: 11}
	p, bound := m.Survival(2.2, true)
	if !near(p, want.Survival(2.2, true), 1e-12) || bound > 1e-10*p {
		t.Errorf("Survival = %v ± %v, want %v", p, bound, want.Survival(2.2, true))
	}
	x, _ := m.UpperQuantile(0.05, false)
	if !near(x, want.UpperQuantile(0.05, false), 1e-12) {
		t.Errorf("UpperQuantile = %v, want %v", x, want.UpperQuantile(0.05, false))
	}
	if x, _ := m.Quantile(0.1, true); !near(x, want.Quantile(0.1, true), 1e-12) {
		t.Errorf("Quantile = %v, want %v", x, want.Quantile(0.1, true))
	}
}

// TestFlatQuantile: far out on its flat side, where few points say little of the slope, a sampled law is
// solved too.
func TestFlatQuantile(t *testing.T) {
	corr := product(0.7, 0.6, 0.1, -0.5)
	corr.SetSym(0, 3, 0.4)
	corr.SetSym(1, 2, 0.6)
	m := MultivariateT{Corr: corr, DF: 1}
	if law := lawOf(corr, false); law.spatial != nil || law.near != nil {
		t.Fatal("the law is not sampled")
	}
	for _, p := range []float64{0.99, 0.9, 1e-5} {
		x, bound := m.UpperQuantile(p, false)
		if q, off := m.Survival(x, false); !(math.Abs(q-p) <= 1e-3*math.Min(p, 1-p)+off) || !(bound <= 0.02*math.Max(1, math.Abs(x))) {
			t.Errorf("UpperQuantile(%v) = %v ± %v has tail %v ± %v", p, x, bound, q, off)
		}
	}
}

// TestSteepLoadings: two variables that are all but one are Student's t, and are computed in no time.
func TestSteepLoadings(t *testing.T) {
	const df = 5
	one := T{DF: df}
	for _, r := range []float64{1 - 1e-7, 1 - 1e-10, 1 - 1e-13, 1} {
		m := MultivariateT{Corr: mat.NewSymDense(2, []float64{1, r, r, 1}), DF: df}
		for _, two := range []bool{true, false} {
			sides := 1.0
			if two {
				sides = 2
			}
			// The difference has a standard deviation of √(2(1-r)), and half of that adds to the larger one.
			x, _ := m.UpperQuantile(0.05, two)
			least := one.UpperQuantile(0.05 / sides)
			if most := least * (1 + math.Sqrt(2*(1-r))); !(x >= least*(1-1e-11) && x <= most*(1+1e-11)) {
				t.Errorf("correlation 1 - %.0e, two-sided %v: quantile %.15g, want between %.15g and %.15g", 1-r, two, x, least, most)
			}
		}
	}
	// On both sides of the limit the answer is the same function.
	for _, l := range []float64{steepLoading - 1e-9, steepLoading + 1e-9} {
		loadings := []float64{l, l, 0.6}
		got, _ := MultivariateT{Corr: product(loadings...), DF: df}.Survival(2.2, true)
		if want := (ManyToOneT{Loadings: loadings, DF: df}).Survival(2.2, true); !near(got, want, 1e-10) {
			t.Errorf("loading %v: %.15g, want %.15g", l, got, want)
		}
	}
}

func TestLoadings(t *testing.T) {
	for _, want := range [][]float64{
		{0.7, 0.5, 0.3, -0.4},
		{0, 0, 0},
		{0.6, 0, 0.6, 0}, // one pair alone
		{0.8, 0.8},
		{0.9, 0, -0.2, 0.4},
		{half, half, half, half, half},
	} {
		got, ok := Loadings(product(want...))
		for i := range want {
			if !ok || math.Abs(got[i]-want[i]) > 1e-12 {
				t.Errorf("Loadings of %v: %v, %v", want, got, ok)
				break
			}
		}
	}
	three := mat.NewSymDense(3, []float64{1, 0.1, 0.9, 0.1, 1, 0.9, 0.9, 0.9, 1}) // needs a loading above one
	for name, corr := range map[string]mat.Symmetric{
		"all pairs of four": allPairs(4),
		"all pairs of five": allPairs(5),
		"loading above one": three,
		"negative product":  mat.NewSymDense(3, []float64{1, -0.3, 0.3, -0.3, 1, 0.3, 0.3, 0.3, 1}),
	} {
		if l, ok := Loadings(corr); ok {
			t.Errorf("%s: loadings %v", name, l)
		}
	}
}

func TestMistakesInShapePanic(t *testing.T) {
	for _, c := range []struct {
		f    func()
		want string
	}{
		{func() { ManyToOneT{DF: 3}.Survival(1, true) }, "law: no loadings"},
		{func() { MultivariateT{Corr: product(), DF: 3}.Survival(1, true) }, "law: not a correlation matrix"},
		{func() {
			MultivariateT{Corr: mat.NewSymDense(2, []float64{1, 1.2, 1.2, 1}), DF: 3}.Survival(1, true)
		}, "law: not a correlation matrix"},
		{func() { // a negative eigenvalue
			MultivariateT{Corr: mat.NewSymDense(3, []float64{1, 0.9, -0.9, 0.9, 1, 0.9, -0.9, 0.9, 1}), DF: 3}.Survival(1, true)
		}, "law: not a correlation matrix"},
	} {
		func() {
			defer func() {
				if got := recover(); got != c.want {
					t.Errorf("panic %v, want %v", got, c.want)
				}
			}()
			c.f()
		}()
	}
}
