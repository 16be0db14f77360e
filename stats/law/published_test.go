package law

import (
	"math"
	"testing"
)

// half is the loading of comparisons of groups with a control of the same size.
var half = math.Sqrt(0.5)

func equalLoadings(n int) []float64 {
	l := make([]float64, n)
	for i := range l {
		l[i] = half
	}
	return l
}

// TestPublishedTables reads numbers from printed tables, to the digits printed.
func TestPublishedTables(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
		unit      float64 // of the last digit printed
	}{
		// NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.6.1.
		{"q(.05; 5, 10)", StudentizedRange{Groups: 5, DF: 10}.UpperQuantile(0.05), 4.65, 0.01},
		// Pearson and Hartley, Biometrika Tables (from memory).
		{"q(.05; 3, 10)", StudentizedRange{Groups: 3, DF: 10}.UpperQuantile(0.05), 3.88, 0.01},
		// Dunnett 1955, JASA 50, one-sided 5 %.
		{"Dunnett 1-sided 20 df, 2", ManyToOneT{Loadings: equalLoadings(2), DF: 20}.UpperQuantile(0.05, false), 2.03, 0.01},
		{"Dunnett 1-sided 20 df, 3", ManyToOneT{Loadings: equalLoadings(3), DF: 20}.UpperQuantile(0.05, false), 2.19, 0.01},
		{"Dunnett 1-sided 20 df, 4", ManyToOneT{Loadings: equalLoadings(4), DF: 20}.UpperQuantile(0.05, false), 2.30, 0.01},
		{"Dunnett 1-sided 20 df, 5", ManyToOneT{Loadings: equalLoadings(5), DF: 20}.UpperQuantile(0.05, false), 2.39, 0.01},
		{"Dunnett 1-sided 10 df, 2", ManyToOneT{Loadings: equalLoadings(2), DF: 10}.UpperQuantile(0.05, false), 2.15, 0.01},
		{"Dunnett 1-sided 10 df, 3", ManyToOneT{Loadings: equalLoadings(3), DF: 10}.UpperQuantile(0.05, false), 2.34, 0.01},
		{"Dunnett 1-sided 10 df, 4", ManyToOneT{Loadings: equalLoadings(4), DF: 10}.UpperQuantile(0.05, false), 2.47, 0.01},
		{"Dunnett 1-sided 10 df, 5", ManyToOneT{Loadings: equalLoadings(5), DF: 10}.UpperQuantile(0.05, false), 2.56, 0.01},
		// Dunnett 1964, Biometrics 20, two-sided 5 % (from memory, R agrees).
		{"Dunnett 2-sided 20 df, 2", ManyToOneT{Loadings: equalLoadings(2), DF: 20}.UpperQuantile(0.05, true), 2.38, 0.01},
		{"Dunnett 2-sided 20 df, 3", ManyToOneT{Loadings: equalLoadings(3), DF: 20}.UpperQuantile(0.05, true), 2.54, 0.01},
		{"Dunnett 2-sided 20 df, 4", ManyToOneT{Loadings: equalLoadings(4), DF: 20}.UpperQuantile(0.05, true), 2.65, 0.01},
		{"Dunnett 2-sided 20 df, 5", ManyToOneT{Loadings: equalLoadings(5), DF: 20}.UpperQuantile(0.05, true), 2.73, 0.01},
	} {
		if math.Abs(c.got-c.want) > 0.6*c.unit {
			t.Errorf("%s = %.5f, want %v", c.name, c.got, c.want)
		}
	}
}

// TestPublishedTails compares with tails known to 16 digits by an mpmath
// quadrature of 20 to 30 digits that shares nothing with testdata/maxima.py, and with R's
// pf(500, 3, 20, lower.tail = FALSE) to its digits.
func TestPublishedTails(t *testing.T) {
	for _, c := range []struct {
		q      float64
		groups int
		df     float64
		want   float64
	}{
		{3.7, 5, 20, 0.1050045361344592},
		{4.5, 10, 8, 0.1727433421192578},
		{6, 8, 40, 0.002927820264811309},
		{8, 6, 30, 5.010272896828532e-5},
		{12, 5, 20, 4.292518250138017e-7},
		{5, 3, 2, 0.1274234026717715},
		{1, 4, 12, 0.892355908441852},
		{2, 3, 10, 0.3705446750354962},
	} {
		got := StudentizedRange{Groups: c.groups, DF: c.df}.Survival(c.q)
		if math.Abs(got/c.want-1) > 1e-14 {
			t.Errorf("StudentizedRange{%d, %v}.Survival(%v) = %.16g, want %.16g", c.groups, c.df, c.q, got, c.want)
		}
	}
	for x, want := range map[float64]float64{500: 5.72095890926319e-19, 5000: 6.47970962597562e-29} {
		if got := (F{D1: 3, D2: 20}).Survival(x); math.Abs(got/want-1) > 1e-13 {
			t.Errorf("F{3, 20}.Survival(%v) = %.15g, want %.15g", x, got, want)
		}
	}
}
