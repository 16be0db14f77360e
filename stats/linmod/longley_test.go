package linmod

import "testing"

// Longley's six nearly collinear covariates (R's longley, as whole numbers:
// price deflator, gross national product, unemployed, armed forces, population,
// year, employed).
var longley = [][]int64{
	{830, 885, 882, 895, 962, 981, 990, 1000, 1012, 1046, 1084, 1108, 1126, 1142, 1157, 1169},
	{234289, 259426, 258054, 284599, 328975, 346999, 365385, 363112, 397469, 419180, 442769, 444546, 482704, 502601, 518173, 554894},
	{2356, 2325, 3682, 3351, 2099, 1932, 1870, 3578, 2904, 2822, 2936, 4681, 3813, 3931, 4806, 4007},
	{1590, 1456, 1616, 1650, 3099, 3594, 3547, 3350, 3048, 2857, 2798, 2637, 2552, 2514, 2572, 2827},
	{107608, 108632, 109773, 110929, 112075, 113270, 115094, 116219, 117388, 118734, 120445, 121950, 123366, 125368, 127852, 130081},
	{1947, 1948, 1949, 1950, 1951, 1952, 1953, 1954, 1955, 1956, 1957, 1958, 1959, 1960, 1961, 1962},
	{60323, 61122, 60171, 61187, 63221, 63639, 64989, 63761, 66019, 67857, 68169, 66513, 68655, 69564, 69331, 70551},
}

// The residual sum of squares that NIST certifies is 836424.055505915 (from
// memory); each row of the analysis of variance is checked in exact arithmetic.
func TestLongley(t *testing.T) {
	var m Model
	for _, x := range longley[:6] {
		m.Covariates = append(m.Covariates, Covariate{Name: "x", Value: asFloats(x)})
	}
	r := fit(t, m, asFloats(longley[6])...)
	if !near(r.RSS, 836424.055505915, 0, 1e-13) {
		t.Errorf("RSS = %.15g, want 836424.055505915", r.RSS)
	}
	one := columnsOf(16)
	_, rss := exactFit(append(one, longley[:6]...), longley[6])
	for i, row := range r.ANOVA()[:6] {
		others := append(append(one, longley[:i]...), longley[i+1:6]...)
		_, without := exactFit(others, longley[6])
		if want := without - rss; row.DF != 1 || !near(row.SS, want, rss, 1e-11) {
			t.Errorf("row %d = %+v, want DF 1, SS %.15g", i, row, want)
		}
	}
}

func asFloats(x []int64) []float64 {
	f := make([]float64, len(x))
	for i, v := range x {
		f[i] = float64(v)
	}
	return f
}
