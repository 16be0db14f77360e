package verdict

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fairrun/stats/internal/accuracy"
)

// referencePairs compares all pairs with R (emmeans) and, for Tukey's law,
// against quadrature.
func referencePairs(t *testing.T, page *accuracy.Section) {
	references(t, func(t *testing.T, columns map[string][]string, c referenceCase) {
		r := analysed(t, columns, c, Request{}, "")
		for _, family := range c.Families {
			for _, want := range family.Pairs {
				got, ok := comparison(t, r, family.Factor, want)
				if !ok {
					continue
				}
				what := want.Level + " against " + want.Against
				checkDifference(t, page, got, want, c.Tolerance.Plain)
				near(t, page.Line("Hedges' g", onR, "R"), what+" g", got.G, want.G, c.Tolerance.Plain)
				checkFamily(t, page, "Tukey–Kramer", what, got, want.PTukey, want.Low, want.High, 1e-9)
			}
		}
	})
}

// referenceBaselines holds comparisons with a baseline against quadrature of
// Dunnett's laws with the correlations of the fit.
func referenceBaselines(t *testing.T, page *accuracy.Section) {
	references(t, func(t *testing.T, columns map[string][]string, c referenceCase) {
		q := Request{Compare: Baseline}
		for _, f := range c.Families {
			if f.Baseline != nil && c.Request.Interactions {
				q.Baseline = strings.Fields(f.Baseline.Level)
			} else if f.Baseline != nil {
				q.Baseline = append(q.Baseline, f.Baseline.Level)
			}
		}
		if len(q.Baseline) != len(c.Request.Treatments) {
			t.Skip("no mean can be estimated")
		}
		two := analysed(t, columns, c, q, "")
		q.OneSided = true
		higher := analysed(t, columns, c, q, "higher")
		lower := analysed(t, columns, c, q, "lower")
		inf := math.Inf(1)
		minusInf := -inf
		for _, family := range c.Families {
			law, tolerance := "Dunnett", 1e-9
			if family.Baseline.Structure == "general" {
				law, tolerance = "Dunnett, correlations without product structure", 1e-6
			}
			for _, want := range family.Baseline.Comparisons {
				what := want.Level + " against " + want.Against
				if got, ok := comparison(t, two, family.Factor, want); ok {
					checkDifference(t, page, got, want, c.Tolerance.Plain)
					checkFamily(t, page, law, what, got, want.PDunnett, want.Low, want.High, tolerance)
				}
				if got, ok := comparison(t, higher, family.Factor, want); ok {
					checkFamily(t, page, law+", one-sided", what+", higher", got, want.PGreater, want.LowOneSided, &inf, tolerance)
				}
				if got, ok := comparison(t, lower, family.Factor, want); ok {
					checkFamily(t, page, law+", one-sided", what+", lower", got, want.PLess, &minusInf, want.HighOneSided, tolerance)
				}
			}
		}
	})
}

// comparison finds the comparison of two levels. R's order of levels is not
// always that of their names, so that it may stand the other way round.
func comparison(t *testing.T, r Response, factor string, want referencePair) (Comparison, bool) {
	t.Helper()
	find := func(level, against string) int {
		return slices.IndexFunc(r.Comparisons, func(c Comparison) bool { return inR(c.Factors) == factor && c.Level == level && c.Against == against })
	}
	if k := find(want.Level, want.Against); k >= 0 {
		return r.Comparisons[k], true
	}
	k := find(want.Against, want.Level)
	if k < 0 {
		t.Errorf("no comparison of %s %q with %q", factor, want.Level, want.Against)
		return Comparison{}, false
	}
	c := r.Comparisons[k]
	c.Estimate, c.T, c.G = -c.Estimate, -c.T, -c.G
	c.Low, c.High = -c.High, -c.Low
	return c, true
}

func checkDifference(t *testing.T, page *accuracy.Section, got Comparison, want referencePair, plain float64) {
	t.Helper()
	const against = "R (emmeans)"
	what := want.Level + " against " + want.Against
	near(t, page.Line("difference of adjusted means", onR, against), what, got.Estimate, want.Estimate, plain)
	near(t, page.Line("standard error of a difference", onR, against), what+" se", got.SE, want.SE, plain)
	near(t, page.Line("t", onR, against), what+" t", got.T, want.T, plain)
	near(t, page.Line("p of t", onR, against), what+" p", got.P, want.P, 10*plain)
}

// farTail is where the reference for Dunnett's laws, one less a CDF, begins to lose digits. The
// far tails are compared with better values in stats/law.
const farTail = 1e-3

// checkFamily holds an adjusted p-value and simultaneous limits, the latter in
// parts of the standard error, against quadrature.
func checkFamily(t *testing.T, page *accuracy.Section, law, what string, got Comparison, p, low, high *float64, tolerance float64) {
	t.Helper()
	const against = "quadrature (precise.py)"
	if d := strings.HasPrefix(law, "Dunnett"); d && *p < farTail {
		if !(math.Abs(float64(got.PAdjusted)-*p) <= farTail*1e-10) {
			t.Errorf("%s: adjusted p = %.15g, want %.15g", what, float64(got.PAdjusted), *p)
		}
	} else {
		near(t, page.Line("adjusted p, "+law, onR, against), what+" adjusted p", got.PAdjusted, p, tolerance)
	}
	limits := page.Line("limits in standard errors, "+law, onR, against)
	for _, end := range []struct {
		got  Number
		want *float64
	}{{got.Low, low}, {got.High, high}} {
		switch {
		case end.want == nil:
			if end.got.Known() {
				t.Errorf("%s: limit = %v, want none", what, end.got)
			}
		case math.IsInf(*end.want, 0):
			if float64(end.got) != *end.want {
				t.Errorf("%s: limit = %v, want %v", what, end.got, *end.want)
			}
		default:
			if e := limits.AddIn(float64(end.got), *end.want, float64(got.SE)); !(e <= tolerance) {
				t.Errorf("%s: limit = %.15g, want %.15g", what, float64(end.got), *end.want)
			}
		}
	}
}
