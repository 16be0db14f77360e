package verdict

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"fairrun/stats/internal/accuracy"
)

// referenceTest is the outcome of one of R's tests.
type referenceTest struct {
	Statistic, DF1, DF2, P *float64
}

// referenceSpread holds tests of equal spread.
type referenceSpread struct {
	Bartlett      *referenceTest
	BrownForsythe *referenceTest `json:"brown_forsythe"`
}

// referenceAssumptions is what R says of the residuals and of the tests that lean on less.
type referenceAssumptions struct {
	Shapiro      *referenceTest
	Spread       referenceSpread `json:"spread_of_residuals"`
	DurbinWatson *float64        `json:"durbin_watson"`
	Outlier      *struct {
		Row        int
		T          float64 `json:"rstudent"`
		Bonferroni float64 `json:"p_bonferroni"`
	}
	KruskalWallis *referenceTest `json:"kruskal_wallis"`
	Welch         *referenceTest
	Friedman      *referenceTest
	GamesHowell   []referencePair `json:"games_howell"`
	Dunn          []struct {
		Level, Against string
		Holm           float64 `json:"p_holm"`
	}
}

// referenceChecks holds the checks, and the alternatives where they are of the response as it
// stands, against R's shapiro.test, leveneTest, bartlett.test, rstudent, oneway.test,
// kruskal.test and friedman.test.
func referenceChecks(t *testing.T, page *accuracy.Section) {
	made := map[string]int{}
	references(t, func(t *testing.T, columns map[string][]string, c referenceCase) {
		d, q := dataFor(t, columns, c), Request{Interactions: c.Request.Interactions, Alpha: c.Request.Alpha, Compare: Pairs, Power: 0.9}
		s, err := measure(d.Responses[0], d.Status, d.rowName)
		if err != nil {
			t.Fatal(err)
		}
		j := judgement{measured: d.Responses[0], sample: s}
		j.judge(context.Background(), d, &q)
		checks := j.answer.Checks
		tolerance := c.Tolerance.Checks
		hold := func(name, reference string, want *referenceTest) {
			t.Helper()
			k := slices.IndexFunc(checks, func(c Check) bool { return c.Name == name && c.P.Known() })
			if k < 0 || want == nil {
				return
			}
			made[name]++
			size := Number(math.Abs(float64(checks[k].Statistic))) // of outliers: two runs may lie equally far on either side
			magnitude := math.Abs(*want.Statistic)
			near(t, page.Line(name, onR, reference), name, size, &magnitude, tolerance)
			near(t, page.Line("p of "+name, onR, reference), name+" p", checks[k].P, want.P, tolerance)
		}
		hold("normality (Shapiro-Wilk)", "R (shapiro.test)", c.Checks.Shapiro)
		hold("equal spread (Bartlett)", "R (bartlett.test)", c.Checks.Spread.Bartlett)
		hold("equal spread (Brown-Forsythe)", "R (car)", c.Checks.Spread.BrownForsythe)
		if o := c.Checks.Outlier; o != nil {
			hold("outliers", "R (rstudent)", &referenceTest{Statistic: &o.T, P: &o.Bonferroni})
		}
		if len(c.Request.Blocks) == 0 { // otherwise neighbours in different blocks are none
			k := slices.IndexFunc(checks, func(c Check) bool { return strings.HasPrefix(c.Name, "neighbouring runs") })
			if k >= 0 && checks[k].P.Known() {
				near(t, page.Line("Durbin-Watson", onR, "R"), "Durbin-Watson", checks[k].Statistic, c.Checks.DurbinWatson, tolerance)
			}
		}
		doubtful := doubts{shape: true, spread: true} // whether the checks call for alternatives or not
		others, _ := alternatives(&d, &q, j.fit, doubtful, j.answer.Comparisons, j.answer.Overall.P, 1, s.y)
		holdAlternatives(t, page, others, c, made)
	})
	for _, name := range []string{"normality (Shapiro-Wilk)", "equal spread (Bartlett)", "equal spread (Brown-Forsythe)", "outliers", "Welch with Games-Howell", "Kruskal-Wallis with Dunn", "Friedman"} {
		if made[name] < 2 {
			t.Errorf("%s was compared with R %d times only", name, made[name])
		}
	}
}

// holdAlternatives compares every alternative with R's.
func holdAlternatives(t *testing.T, page *accuracy.Section, others []Alternative, c referenceCase, made map[string]int) {
	t.Helper()
	tolerance := c.Tolerance.Checks
	same := func(a Alternative, reference string, want *referenceTest) {
		t.Helper()
		near(t, page.Line(a.Name, onR, reference), a.Name, a.Statistic, want.Statistic, tolerance)
		near(t, page.Line("p of "+a.Name, onR, reference), a.Name+" p", a.P, want.P, tolerance)
	}
	plain := len(c.Request.Blocks) == 0 && len(c.Request.Covariates) == 0 && (len(c.Request.Treatments) == 1 || c.Request.Interactions)
	for _, a := range others {
		switch {
		case strings.HasPrefix(a.Name, "Friedman") && c.Checks.Friedman != nil:
			made["Friedman"]++
			near(t, &accuracy.Line{}, a.Name, a.Statistic, c.Checks.Friedman.Statistic, tolerance)
			near(t, &accuracy.Line{}, a.Name+" p", a.P, c.Checks.Friedman.P, tolerance)
		case a.Name == "Welch with Games-Howell" && plain:
			made[a.Name]++
			same(a, "R (oneway.test)", c.Checks.Welch)
			near(t, nil, "Welch's df", a.DF2, c.Checks.Welch.DF2, tolerance)
			var clear []bool
			for _, p := range c.Checks.GamesHowell {
				clear = append(clear, *p.Low > 0 || *p.High < 0)
			}
			checkSurvival(t, a, c, clear)
		case a.Name == "Kruskal-Wallis with Dunn" && plain:
			made[a.Name]++
			same(a, "R (kruskal.test)", c.Checks.KruskalWallis)
			var clear []bool
			for _, p := range c.Checks.Dunn {
				clear = append(clear, p.Holm < c.Request.Alpha)
			}
			checkSurvival(t, a, c, clear)
		}
	}
}

// checkSurvival computes from R's numbers alone whether the alternative calls the same pairs
// clear of zero as Tukey's intervals do.
func checkSurvival(t *testing.T, a Alternative, c referenceCase, clear []bool) {
	t.Helper()
	pairs := c.Families[0].Pairs
	if len(pairs) != len(clear) {
		t.Fatalf("%d pairs, R has %d for %s", len(pairs), len(clear), a.Name)
	}
	alike := 0
	for k, p := range pairs {
		if (*p.Low > 0 || *p.High < 0) == clear[k] {
			alike++
		}
	}
	if a.Survives != (alike == len(pairs)) {
		t.Errorf("%s survives: %v, but R calls %d of %d alike", a.Name, a.Survives, alike, len(pairs))
	}
}
