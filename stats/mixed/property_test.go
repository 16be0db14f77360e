package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

func near(got, want, size, tol float64) bool {
	return math.Abs(got-want) <= tol*max(math.Abs(want), size)
}

// levels returns a factor of n levels called 0 to n-1.
func levels(name string, n int, code []int32) linmod.Factor {
	f := linmod.Factor{Name: name, Code: code}
	for l := range n {
		f.Levels = append(f.Levels, fmt.Sprint(l))
	}
	return f
}

// meansBy returns the means of y over the rows that share a code, and their
// number.
func meansBy(y []float64, code []int32, n int) (mean []float64, count float64) {
	mean = make([]float64, n)
	for i, c := range code {
		mean[c] += y[i]
	}
	count = float64(len(y) / n)
	for c := range mean {
		mean[c] /= count
	}
	return mean, count
}

// square returns Σ (x - mean)².
func square(x []float64) float64 {
	var mean, ss float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return ss
}

// A balanced split plot gives what the analysis of variance in two strata gives:
// every F, its degrees of freedom, no scale, and the components from the expected
// mean squares.
func TestBalancedSplitPlot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, a, b := rapid.IntRange(3, 6).Draw(t, "blocks"), rapid.IntRange(2, 4).Draw(t, "A"), rapid.IntRange(2, 5).Draw(t, "B")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		var block, plot, fa, fb, ab []int32
		var y []float64
		for i := range r {
			eb := 30 * (float64(i) + rng.NormFloat64())
			for j := range a {
				ep := 5 * rng.NormFloat64()
				for k := range b {
					block = append(block, int32(i))
					plot = append(plot, int32(i*a+j))
					fa, fb = append(fa, int32(j)), append(fb, int32(k))
					ab = append(ab, int32(j*b+k))
					y = append(y, eb+ep+rng.NormFloat64()+float64(j)*float64(k))
				}
			}
		}
		// sums of squares from the means of the balanced layout
		ss := func(code []int32, n int) float64 {
			m, c := meansBy(y, code, n)
			return c * square(m)
		}
		ssR, ssA, ssB := ss(block, r), ss(fa, a), ss(fb, b)
		ssPlot, ssAB := ss(plot, r*a), ss(ab, a*b)
		e1, df1 := ssPlot-ssR-ssA, float64((r-1)*(a-1))
		e2, df2 := square(y)-ssPlot-ssB-(ssAB-ssA-ssB), float64(a*(b-1)*(r-1))
		ms1, ms2, msR := e1/df1, e2/df2, ssR/float64(r-1)
		if ms1 <= ms2 || msR <= ms1 {
			t.Skip("a component is zero")
		}
		m := Model{Fixed: linmod.Model{Factors: []linmod.Factor{levels("A", a, fa), levels("B", b, fb)}, Order: 2},
			Random: []linmod.Factor{levels("block", r, block), levels("plot", r*a, plot)}}
		for _, m.Method = range []Method{KenwardRoger, Satterthwaite} {
			fit, err := Fit(m, y)
			if err != nil {
				t.Fatal(err)
			}
			want := []Row{
				{DF: a - 1, DenDF: df1, F: ssA / float64(a-1) / ms1},
				{DF: b - 1, DenDF: df2, F: ssB / float64(b-1) / ms2},
				{DF: (a - 1) * (b - 1), DenDF: df2, F: (ssAB - ssA - ssB) / float64((a-1)*(b-1)) / ms2},
			}
			for i, got := range fit.ANOVA() {
				w := want[i]
				if got.DF != w.DF || !near(got.DenDF, w.DenDF, 0, 1e-7) || !near(got.F, w.F, 1e-3, 1e-7) || !near(got.Scale, 1, 0, 1e-9) {
					t.Errorf("%v: %+v, want %+v", m.Method, got, w)
				}
				if p := (law.F{D1: float64(w.DF), D2: w.DenDF}).Survival(w.F); !near(got.P, p, 0, 1e-5) {
					t.Errorf("%v: p of %s = %v, want %v", m.Method, got.Name, got.P, p)
				}
			}
			for i, w := range []float64{(msR - ms1) / float64(a*b), (ms1 - ms2) / float64(b), ms2} {
				if got := fit.Components[i].Variance; !near(got, w, 0, 1e-8) {
					t.Errorf("%s = %v, want %v", fit.Components[i].Name, got, w)
				}
			}
			// Variances of independent mean squares: 2 ms²/df.
			se := math.Sqrt(2*ms1*ms1/df1+2*ms2*ms2/df2) / float64(b)
			if got := fit.Components[1].SE; !near(got, se, 0, 1e-8) {
				t.Errorf("se of plot = %v, want %v", got, se)
			}
			means, err := fit.Means(0)
			if err != nil {
				t.Fatal(err)
			}
			c := make([]float64, a)
			c[0], c[1] = 1, -1
			e := means.Contrasts([][]float64{c})
			if w := math.Sqrt(2 * ms1 / float64(r*b)); !near(e.SE(0), w, 0, 1e-8) || !near(e.DF[0], df1, 0, 1e-7) {
				t.Errorf("%v: whole plots: se %v on %v, want %v on %v", m.Method, e.SE(0), e.DF[0], w, df1)
			}
		}
	})
}

// A balanced one-way layout gives σ² and the component from the two mean squares
// or, where levels differ less than runs do, zero and the total mean square.
func TestBalancedOneWay(t *testing.T) {
	zeros := 0
	rapid.Check(t, func(t *rapid.T) {
		a, n := rapid.IntRange(2, 8).Draw(t, "levels"), rapid.IntRange(2, 8).Draw(t, "rows")
		sd := rapid.SampledFrom([]float64{0, 0.3, 1, 10, 1e4}).Draw(t, "sd")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var code []int32
		var y []float64
		for i := range a {
			e := sd * rng.NormFloat64()
			for range n {
				code = append(code, int32(i))
				y = append(y, 100+e+rng.NormFloat64())
			}
		}
		m, _ := meansBy(y, code, a)
		between := float64(n) * square(m)
		within := square(y) - between
		if sd > 100 { // the difference has no digits
			within = 0
			for i := range a {
				within += square(y[i*n : (i+1)*n])
			}
		}
		msB, msW := between/float64(a-1), within/float64(a*(n-1))
		r, err := Fit(Model{Random: []linmod.Factor{levels("pack", a, code)}}, y)
		if err != nil {
			t.Fatal(err)
		}
		want := []float64{(msB - msW) / float64(n), msW}
		variance, df := msB/float64(a*n), float64(a-1)
		if msB <= msW {
			zeros++
			total := (between + within) / float64(a*n-1)
			want = []float64{0, total}
			variance = total / float64(a*n)
		}
		for i, w := range want {
			if got := r.Components[i].Variance; !near(got, w, 1e-6*want[1], 1e-8) {
				t.Errorf("%s = %v, want %v", r.Components[i].Name, got, w)
			}
		}
		means, err := r.Means()
		if err != nil {
			t.Fatal(err)
		}
		e := means.All()
		if e.SE(0) < math.Sqrt(variance)*(1-1e-8) { // the correction only adds
			t.Errorf("se of the mean %v, want %v or more", e.SE(0), math.Sqrt(variance))
		}
		if msB > msW && (!near(e.SE(0), math.Sqrt(variance), 0, 1e-8) || !near(e.DF[0], df, 0, 1e-7)) {
			t.Errorf("mean: se %v on %v, want %v on %v", e.SE(0), e.DF[0], math.Sqrt(variance), df)
		}
	})
	if zeros == 0 {
		t.Error("no layout with a component of zero")
	}
}

// columnsOf returns the columns of a model's fixed part, which a fit does not keep.
func columnsOf(t interface{ Fatal(...any) }, m Model, y []float64) *linmod.Columns {
	c, err := m.Fixed.Columns(y)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// denseCriterion returns -2 log restricted likelihood at some components, by matrices of
// the size of the data, and without any of the package's algebra.
func denseCriterion(r *Result, columns *linmod.Columns, variance []float64) float64 {
	n := r.N
	v := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s := 0.0
			for k := range r.random {
				if r.random[k].code[i] == r.random[k].code[j] {
					s += variance[k]
				}
			}
			if i == j {
				s += variance[len(r.random)]
			}
			v.SetSym(i, j, s)
		}
	}
	x := mat.NewDense(n, r.Rank, nil)
	y := mat.NewVecDense(n, nil)
	for i, row := range r.columns.Rows {
		y.SetVec(i, r.y[row])
		for k, j := range r.basis.independent {
			x.Set(i, k, columns.X[j][i]*columns.Unit[j])
		}
	}
	var cv, cx mat.Cholesky
	cv.Factorize(v)
	var vx mat.Dense
	_ = cv.SolveTo(&vx, x)
	var xvx mat.Dense
	xvx.Mul(x.T(), &vx)
	cx.Factorize(symmetric(&xvx))
	var vy, xvy, b mat.VecDense
	_ = cv.SolveVecTo(&vy, y)
	xvy.MulVec(x.T(), &vy)
	_ = cx.SolveVecTo(&b, &xvy)
	return cv.LogDet() + cx.LogDet() + mat.Dot(y, &vy) - mat.Dot(&b, &xvy) + float64(n-r.Rank)*math.Log(2*math.Pi)
}

// In unbalanced nested and crossed layouts the criterion is that of dense matrices,
// and no component can be moved to lower it.
func TestOptimum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		rows := rapid.IntRange(20, 60).Draw(t, "rows")
		var random []spread
		for k := range rapid.IntRange(1, 3).Draw(t, "factors") {
			l := rapid.IntRange(2, 9).Draw(t, "levels")
			sd := rapid.SampledFrom([]float64{0, 0.5, 2, 10}).Draw(t, "sd")
			random = append(random, spread{l, sd, func(i int) int { return []int{i * l / rows, rng.IntN(l), i % l}[k] }})
		}
		m, y := layout(rows, 3, random...)
		for i := range y {
			y[i] += rng.NormFloat64()
		}
		r, err := Fit(m, y)
		if err != nil {
			t.Skip(err)
		}
		at := make([]float64, len(r.Components))
		for i, c := range r.Components {
			at[i] = c.Variance
		}
		x := columnsOf(t, m, y)
		top := denseCriterion(r, x, at)
		if !near(r.Criterion, top, 1, 1e-10) {
			t.Errorf("criterion %v, want %v", r.Criterion, top)
		}
		for i := range at {
			for _, step := range []float64{-1, -0.5, -0.01, 0.01, 0.5, 1, 10, 100} {
				to := append([]float64(nil), at...)
				if to[i] += step * max(at[i], 0.1*r.Sigma2); to[i] < 0 || to[len(to)-1] == 0 {
					continue
				}
				if v := denseCriterion(r, x, to); v < top-1e-9 {
					t.Errorf("criterion %v at %v, below %v at %v", v, to, top, at)
				}
			}
		}
	})
}

// Neither the unit nor the origin of the response, nor the order of rows or of
// random factors changes what is found.
func TestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		const rows = 40
		m, y := layout(rows, 3, spread{4, 2, func(i int) int { return i / 10 }}, spread{9, 1, func(int) int { return rng.IntN(9) }})
		for i := range y {
			y[i] += rng.NormFloat64()
		}
		r, err := Fit(m, y)
		if err != nil {
			t.Skip(err)
		}
		const a, b = -1e3, 25.0
		order := rng.Perm(rows)
		permute := func(f linmod.Factor) linmod.Factor {
			code := make([]int32, rows)
			for i, k := range order {
				code[i] = f.Code[k]
			}
			f.Code = code
			return f
		}
		z := make([]float64, rows)
		value := make([]float64, rows)
		for i, k := range order {
			z[i] = a + b*y[k]
			value[i] = 7 + 3*m.Fixed.Covariates[0].Value[k]
		}
		m2 := Model{Fixed: linmod.Model{Factors: []linmod.Factor{permute(m.Fixed.Factors[0])}, Order: 1,
			Covariates: []linmod.Covariate{{Name: "position", Value: value}}},
			Random: []linmod.Factor{permute(m.Random[1]), permute(m.Random[0])}}
		r2, err := Fit(m2, z)
		if err != nil {
			t.Fatal(err)
		}
		for i, j := range []int{1, 0, 2} {
			if got, want := r2.Components[i].SD, b*r.Components[j].SD; !near(got, want, 1e-3*b, 1e-7) {
				t.Errorf("sd of %s = %v, want %v", r2.Components[i].Name, got, want)
			}
		}
		for i, got := range r2.ANOVA() {
			want := r.ANOVA()[i]
			if !near(got.F, want.F, 1e-3, 1e-7) || !near(got.DenDF, want.DenDF, 0, 1e-6) {
				t.Errorf("%+v, want %+v", got, want)
			}
		}
		means, err := r.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		means2, err := r2.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		e, e2 := means.All(), means2.All()
		for k := range e.Value {
			if got, want := e2.Value[k], a+b*e.Value[k]; !near(got, want, 1, 1e-9) {
				t.Errorf("mean %d = %v, want %v", k, got, want)
			}
			if got, want := e2.SE(k), b*e.SE(k); !near(got, want, 0, 1e-7) {
				t.Errorf("se of mean %d = %v, want %v", k, got, want)
			}
		}
		res, res2 := r.Residuals(), r2.Residuals()
		for i, k := range order {
			if !near(res2[i], b*res[k], 1, 1e-7) {
				t.Errorf("residual of row %d = %v, want %v", k, res2[i], b*res[k])
			}
		}
	})
}

// Predicted effects solve the mixed-model equations: at them, residuals are
// orthogonal to the fixed part, and sum within a level to its effect over γ.
func TestEffects(t *testing.T) {
	m, y := layout(60, 4, spread{5, 2, func(i int) int { return i / 12 }}, spread{7, 1, func(i int) int { return i * 5 % 7 }})
	y[3] = math.NaN()
	m.Random[1].Levels = append(m.Random[1].Levels, "never run")
	r, err := Fit(m, y)
	if err != nil {
		t.Fatal(err)
	}
	e, fit := r.Residuals(), r.Fitted()
	if !math.IsNaN(e[3]) || !math.IsNaN(fit[3]) || r.Used[3] {
		t.Errorf("row 3: %v, %v, used %v; want it left out", e[3], fit[3], r.Used[3])
	}
	for i := range y {
		if i != 3 && !near(fit[i]+e[i], y[i], 1, 1e-14) {
			t.Errorf("row %d: fitted + residual = %v, want %v", i, fit[i]+e[i], y[i])
		}
	}
	for j, x := range columnsOf(t, m, y).X {
		var s float64
		for i, row := range r.columns.Rows {
			s += x[i] * e[row]
		}
		if math.Abs(s) > 1e-10 {
			t.Errorf("residuals times column %d = %v, want 0", j, s)
		}
	}
	for k := range m.Random {
		effects := r.Effects(k)
		gamma := r.Components[k].Variance / r.Sigma2
		for l, b := range effects {
			var s float64
			for i, c := range m.Random[k].Code {
				if int(c) == l && i != 3 {
					s += e[i]
				}
			}
			if !near(b, gamma*s, 1e-3, 1e-9) {
				t.Errorf("effect %d of %s = %v, want %v", l, m.Random[k].Name, b, gamma*s)
			}
		}
	}
	if b := r.Effects(1); b[7] != 0 {
		t.Errorf("effect of a level without a run = %v, want 0", b[7])
	}
}
