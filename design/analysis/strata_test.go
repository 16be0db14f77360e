package analysis_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/stats/verdict"
)

// comparison finds one comparison of the only response.
func comparison(t *testing.T, v *verdict.Verdict, factor string) verdict.Number {
	t.Helper()
	for _, c := range v.Responses[0].Comparisons {
		if c.Factors.Term() == factor {
			return c.Estimate
		}
	}
	t.Fatalf("no comparison of %s", factor)
	return 0
}

// What a warm-up run measures does not count; a reference run is a run of the baseline. In pack 1 level 4 is 15 and level
// 0 is 10 and 12: 4 more; in pack 2 26 and 20, 18: 7 more. Together 5.5.
func TestRolesInTheAnalysis(t *testing.T) {
	s := campaigntest.Filled(t, fmt.Sprintf(campaigntest.StrataPlan, "")+"[order]\nwarmup = 1\nreference = [2]\n",
		[][]int{{0, 0, 0, 1}, {0, 0, 1, 0}}, []float64{999, 10, 12, 15, -999, 20, 26, 18})
	v, err := analysis.Verdict(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if got := float64(comparison(t, v, "weakening")); math.Abs(got-5.5) > 1e-12 {
		t.Errorf("4 against 0 = %v, want 5.5", got)
	}
	if got := v.Responses[0].Runs.OK; got != 6 {
		t.Errorf("%d runs count, want 6", got)
	}
}

// A factor that is hard to change is judged between whole plots: the mean of prop B's is 41 above A's in one pack and
// 9 in the other, 25 on average with a standard error of 16 and 1 degree of freedom. The other factor is judged within
// them: in the four whole plots level 4 is 3, 5, 2 and 6 above level 0, 4 on average, with a standard deviation of
// √(10/3), so that the standard error is √(10/3)/2 with 3 degrees of freedom.
func TestWholePlotsInTheAnalysis(t *testing.T) {
	hard := "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"
	s := campaigntest.Filled(t, fmt.Sprintf(campaigntest.StrataPlan, hard), [][]int{{0, 1, 3, 2}, {2, 3, 0, 1}},
		[]float64{10, 13, 55, 50, 31, 33, 20, 26})
	v, err := analysis.Verdict(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range v.Responses[0].Comparisons {
		switch c.Factors.Term() {
		case "prop":
			if math.Abs(float64(c.Estimate)-25) > 1e-9 || math.Abs(float64(c.SE)-16) > 1e-6 || math.Abs(float64(c.DF)-1) > 1e-6 {
				t.Errorf("B against A = %v, standard error %v with %v degrees of freedom; want 25, 16, 1", c.Estimate, c.SE, c.DF)
			}
		case "weakening":
			if math.Abs(float64(c.Estimate)-4) > 1e-12 || math.Abs(float64(c.SE)-math.Sqrt(10./3)/2) > 1e-9 || math.Abs(float64(c.DF)-3) > 1e-9 {
				t.Errorf("4 against 0 = %v, standard error %v with %v degrees of freedom; want 4, %v, 3", c.Estimate, c.SE, c.DF, math.Sqrt(10./3)/2)
			}
		}
	}
	said := false
	for _, k := range v.Responses[0].Checks {
		said = said || strings.Contains(k.Message, "prop is set once for a whole plot, so its effect rests on 2 whole plots of each setting")
	}
	if !said {
		t.Errorf("nothing is said of whole plots: %+v", v.Responses[0].Checks)
	}
}
