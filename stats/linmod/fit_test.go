package linmod

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// factor makes a factor of one-letter levels from a text with a letter for each
// row; a blank is a missing code.
func factor(name, levels, rows string) Factor {
	f := Factor{Name: name, Levels: strings.Split(levels, "")}
	for _, r := range rows {
		f.Code = append(f.Code, int32(strings.IndexRune(levels, r)))
	}
	return f
}

func fit(t *testing.T, m Model, y ...float64) *Result {
	t.Helper()
	r, err := Fit(m, y)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestFitErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	ab := []Factor{factor("A", "ab", "aabb")}
	wide := func(rows int) []Factor {
		fs := make([]Factor, 2)
		for k := range fs {
			fs[k] = Factor{Name: fmt.Sprint("F", k)}
			for i := range rows {
				fs[k].Levels = append(fs[k].Levels, fmt.Sprint(i))
				fs[k].Code = append(fs[k].Code, int32(i*(k+1)%rows))
			}
		}
		return fs
	}
	for _, c := range []struct {
		name string
		m    Model
		y    []float64
		want error
	}{
		{"nothing at all", Model{}, nil, ErrNoRows},
		{"no response", Model{Factors: ab}, []float64{nan, nan, nan, nan}, ErrNoRows},
		{"no code", Model{Factors: []Factor{factor("A", "ab", "    ")}}, []float64{1, 2, 3, 4}, ErrNoRows},
		{"no level", Model{Factors: []Factor{{Name: "A", Code: []int32{-1}}}}, []float64{1}, ErrNoRows},
		{"no covariate", Model{Covariates: []Covariate{{Name: "x", Value: []float64{nan, nan}}}}, []float64{1, 2}, ErrNoRows},
		{"nothing shared", Model{Blocks: []Factor{factor("B", "xy", "xy  ")}, Factors: []Factor{factor("A", "ab", "  ab")}}, []float64{1, 2, 3, 4}, ErrNoRows},
		{"infinite response", Model{Factors: ab}, []float64{1, 2, inf, 4}, ErrInfinite},
		{"huge response", Model{Factors: ab}, []float64{1, 2, 1e200, 4}, ErrInfinite},
		{"overflowing mean", Model{Factors: ab}, []float64{1e308, 1e308, 1e308, 1e308}, ErrInfinite},
		{"infinite covariate", Model{Covariates: []Covariate{{Name: "x", Value: []float64{1, -inf}}}}, []float64{1, 2}, ErrInfinite},
		{"huge range", Model{Covariates: []Covariate{{Name: "x", Value: []float64{1e308, -1e308}}}}, []float64{1, 2}, ErrInfinite},
		{"a level each row", Model{Factors: wide(5000)}, make([]float64, 5000), ErrTooLarge},
		{"interaction", Model{Factors: wide(4000), Order: 2}, make([]float64, 4000), ErrTooLarge},
	} {
		if _, err := Fit(c.m, c.y); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
	}
}

func TestMeansTooMany(t *testing.T) {
	many := make([]string, 5000)
	fs := []Factor{{Name: "A", Levels: many, Code: []int32{0, 1, 2}}, {Name: "B", Levels: many[:2], Code: []int32{0, 1, 0}}}
	r := fit(t, Model{Factors: fs}, 1, 2, 4)
	if _, err := r.Means(0); !errors.Is(err, ErrTooLarge) {
		t.Errorf("5000 means: error %v, want ErrTooLarge", err)
	}
	if m, err := r.Means(1); err != nil || len(m.N) != 2 {
		t.Errorf("2 means: %v", err)
	}
}

// A block with a level for each row fits whatever the number of rows.
func TestBlockEachRow(t *testing.T) {
	const n = 50_000
	b := Factor{Name: "run", Levels: make([]string, n), Code: make([]int32, n)}
	a := Factor{Name: "A", Levels: []string{"a", "b"}, Code: make([]int32, n)}
	for i := range b.Code {
		b.Code[i], a.Code[i] = int32(i), int32(i%2)
	}
	r := fit(t, Model{Blocks: []Factor{b}, Factors: []Factor{a}}, make([]float64, n)...)
	if r.Rank != n || r.DF != 0 {
		t.Errorf("Rank, DF = %d, %d, want %d, 0", r.Rank, r.DF, n)
	}
	if rows := r.ANOVA(); rows[0].DF != n-2 || rows[1].DF != 0 {
		t.Errorf("rows %+v, want DF %d and 0", rows, n-2)
	}
}

func TestFitPanics(t *testing.T) {
	ab := factor("A", "ab", "aabb")
	y := []float64{1, 2, 3, 4}
	for _, c := range []struct {
		want string
		call func()
	}{
		{panicLength, func() { Fit(Model{Factors: []Factor{ab}}, y[:3]) }},
		{panicLength, func() { Fit(Model{Covariates: []Covariate{{Name: "x", Value: y[:2]}}}, y) }},
		{panicCode, func() { Fit(Model{Blocks: []Factor{{Name: "B", Levels: []string{"x"}, Code: []int32{0, 0, 1, 0}}}}, y) }},
		{panicCode, func() {
			Fit(Model{Factors: []Factor{{Name: "B", Levels: []string{"x"}, Code: []int32{0, 0, -2, 0}}}}, y)
		}},
		{panicFactor, func() { fit(t, Model{Factors: []Factor{ab}}, y...).Means(1) }},
		{panicFactor, func() { fit(t, Model{Factors: []Factor{ab}}, y...).Means(0, 0) }},
		{panicDegree, func() { PolynomialContrasts(y, -1) }},
		{panicWeights, func() {
			m, _ := fit(t, Model{Factors: []Factor{ab}}, y...).Means(0)
			m.Contrasts([][]float64{{1, -1, 0}})
		}},
	} {
		func() {
			defer func() {
				if got := recover(); got != c.want {
					t.Errorf("panic %v, want %q", got, c.want)
				}
			}()
			c.call()
		}()
	}
}

// A level whose runs all failed stays among the levels: it has no mean, the
// others are what they would be without it.
func TestLevelWithoutRun(t *testing.T) {
	nan := math.NaN()
	with := fit(t, Model{Factors: []Factor{factor("A", "abc", "aabbcc"), factor("B", "xy", "xyxyxy")}}, 3, 5, nan, nan, 8, 11)
	without := fit(t, Model{Factors: []Factor{factor("A", "ac", "aacc"), factor("B", "xy", "xyxy")}}, 3, 5, 8, 11)
	if with.N != 4 || with.Rank != without.Rank || with.RSS != without.RSS {
		t.Errorf("N, Rank, RSS = %d, %d, %v, want 4, %d, %v", with.N, with.Rank, with.RSS, without.Rank, without.RSS)
	}
	if a := with.ANOVA()[0]; !cmp.Equal(a, without.ANOVA()[0]) {
		t.Errorf("row of A = %+v, want %+v", a, without.ANOVA()[0])
	}
	m, _ := with.Means(0)
	n, _ := without.Means(0)
	got, want := m.All(), n.All()
	if len(m.N) != 3 || m.N[1] != 0 || got.Estimable[1] || !math.IsNaN(got.Value[1]) || !math.IsNaN(got.Cov.At(1, 0)) {
		t.Errorf("level without a run: N %v, estimable %v, value %v", m.N, got.Estimable, got.Value)
	}
	if got.Value[0] != want.Value[0] || got.Value[2] != want.Value[1] {
		t.Errorf("means = %v, want those of %v", got.Value, want.Value)
	}
	e := m.Contrasts([][]float64{{1, -1, 0}, {1, 0, -1}})
	if e.Estimable[0] || !e.Estimable[1] {
		t.Errorf("differences with b and c: estimable %v, want false, true", e.Estimable)
	}
	over, _ := with.Means(1) // averages over the levels of A that have runs
	if v := over.All(); !v.Estimable[0] || math.Abs(v.Value[0]-5.5) > 1e-14 || math.Abs(v.Value[1]-8) > 1e-14 {
		t.Errorf("means of B = %v, want 5.5 and 8", v.Value)
	}
}

func TestNothingToCompare(t *testing.T) {
	// one level used: a row with no degrees of freedom, and its mean
	r := fit(t, Model{Factors: []Factor{factor("A", "ab", "aaa")}}, 1, 2, 6)
	if row := r.ANOVA()[0]; row.DF != 0 || row.SS != 0 {
		t.Errorf("row = %+v, want DF and SS 0", row)
	}
	if j := r.Joint(); j.DF != 0 || j.SS != 0 {
		t.Errorf("Joint = %+v, want DF and SS 0", j)
	}
	m, _ := r.Means(0)
	if e := m.All(); !e.Estimable[0] || e.Value[0] != 3 || e.Estimable[1] {
		t.Errorf("means %v, estimable %v, want 3 and none", e.Value, e.Estimable)
	}
	if r.DF != 2 || r.RSS != 14 || r.Sigma2 != 7 {
		t.Errorf("DF, RSS, Sigma2 = %d, %v, %v, want 2, 14, 7", r.DF, r.RSS, r.Sigma2)
	}

	// no terms: the general mean
	r = fit(t, Model{}, 1, 2, 6)
	m, _ = r.Means()
	if e := m.All(); len(m.N) != 1 || m.N[0] != 3 || e.Value[0] != 3 || math.Abs(e.Cov.At(0, 0)-1./3) > 1e-16 {
		t.Errorf("general mean: N %v, %v", m.N, e)
	}
	if rows := r.ANOVA(); len(rows) != 1 || rows[0].Kind != ResidualTerm {
		t.Errorf("rows %+v, want the residual only", rows)
	}
	if e := m.Contrasts(nil); len(e.Value) != 0 || !e.Cov.IsEmpty() {
		t.Errorf("no contrasts: %+v", e)
	}

	// each treatment in a block of its own: means cannot be distinguished from blocks
	r = fit(t, Model{Blocks: []Factor{factor("B", "xy", "xxyy")}, Factors: []Factor{factor("A", "ab", "aabb")}}, 1, 2, 6, 7)
	m, _ = r.Means(0)
	if e := m.All(); e.Estimable[0] || e.Estimable[1] {
		t.Errorf("treatments are blocks: estimable %v", e.Estimable)
	}
	for i, row := range r.ANOVA()[:2] {
		if row.DF != 0 || row.SS != 0 {
			t.Errorf("row %d = %+v, want DF and SS 0", i, row)
		}
	}
}

// A difference may be estimable where neither mean is: a and b share block x, c
// stands alone in y.
func TestEstimableDifference(t *testing.T) {
	r := fit(t, Model{Blocks: []Factor{factor("B", "xy", "xxxxyy")}, Factors: []Factor{factor("A", "abc", "aabbcc")}}, 1, 2, 6, 7, 3, 4)
	m, _ := r.Means(0)
	e := m.All()
	if e.Estimable[0] || e.Estimable[1] || e.Estimable[2] {
		t.Errorf("means: estimable %v, want none", e.Estimable)
	}
	d := m.Contrasts([][]float64{{-1, 1, 0}, {1, 0, -1}})
	if !d.Estimable[0] || math.Abs(d.Value[0]-5) > 1e-14 || math.Abs(d.Cov.At(0, 0)-1) > 1e-14 || d.Estimable[1] {
		t.Errorf("b - a = %v (%v), estimable %v; want 5 (1), true, false", d.Value[0], d.Cov.At(0, 0), d.Estimable)
	}
}

// A response without noise leaves a residual of exactly zero, not of rounding,
// and one without any effect sums of squares of zero.
func TestNoNoise(t *testing.T) {
	for _, y := range [][]float64{
		{0.1, 0.1, 0.1, 0.1, 0.1, 0.1},
		{0.1, 0.4, 0.3, 0.6, 0.7, 1.0}, // 0.1, 0.3, 0.7 and 0.3 more
		{1e9 + 0.1, 1e9 + 0.4, 1e9 + 0.3, 1e9 + 0.6, 1e9 + 0.7, 1e9 + 1.0},
	} {
		r := fit(t, Model{Factors: []Factor{factor("A", "abc", "aabbcc"), factor("B", "xy", "xyxyxy")}}, y...)
		if r.DF != 2 || r.RSS != 0 || r.Sigma2 != 0 {
			t.Errorf("%v: DF, RSS, Sigma2 = %d, %v, %v, want 2, 0, 0", y, r.DF, r.RSS, r.Sigma2)
		}
		for i, row := range r.ANOVA()[:2] {
			if (row.SS == 0) != (y[0] == y[1]) {
				t.Errorf("%v: row %d has SS %v", y, i, row.SS)
			}
		}
	}
	r := fit(t, Model{Factors: []Factor{factor("A", "ab", "ab")}}, 1, 2)
	if r.DF != 0 || r.RSS != 0 || !math.IsNaN(r.Sigma2) {
		t.Errorf("a run each: DF, RSS, Sigma2 = %d, %v, %v, want 0, 0, NaN", r.DF, r.RSS, r.Sigma2)
	}
}

// Noise of 1e-7 beside blocks a thousand times larger keeps its digits: the
// response is 1000·block + treatment + noise·(+1, -1, -1, +1) in every block.
func TestSmallNoise(t *testing.T) {
	const noise = 0x1p-23
	var block, treatment strings.Builder
	var y []float64
	for b := range 4 {
		for i, e := range []float64{noise, -noise, -noise, noise} {
			block.WriteByte("wxyz"[b])
			treatment.WriteByte("aabb"[i])
			y = append(y, 1000*float64(b)+float64(i/2)+e)
		}
	}
	m := Model{Blocks: []Factor{factor("B", "wxyz", block.String())}, Factors: []Factor{factor("A", "ab", treatment.String())}}
	r := fit(t, m, y...)
	want := 16 * noise * noise // every term is exact in binary
	if !near(r.RSS, want, 0, 1e-9) {
		t.Errorf("RSS = %v, want %v", r.RSS, want)
	}
	if a := r.ANOVA()[1]; !near(a.SS, 4, 0, 1e-12) {
		t.Errorf("SS of A = %v, want 4", a.SS)
	}
}
