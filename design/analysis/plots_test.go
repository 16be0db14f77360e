package analysis_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// Controllers are compared within whole plots of a propeller, which vary four times as much as the runs
// within them: 2 N between two controllers are far clear of that noise of 0.5 N, of whatever propeller, in
// 8 runs each (a standard error of 0.25 N, t = 8), and are so by the orders as by the model. What lies between whole plots can be
// set in 2⁴ ways, so that no propeller can have p below an eighth for it alone.
func TestRandomisationOfWholePlots(t *testing.T) {
	plan := "interactions = true\ntitle = \"Props\"\nscope = \"pod thruster no. 3\"\n[[factor]]\nname = \"prop\"\nlevels = [\"p\", \"q\"]\nhard_to_change = true\n" +
		"[[factor]]\nname = \"controller\"\nlevels = [\"A\", \"B\", \"C\"]\n[block]\nname = \"pack\"\ncount = 4\nreplicates = 2\n[drift]\nmodel = \"none\"\n" + thrust
	s := campaigntest.Measured(t, plan, nil, func(r *sheet.Run) string {
		noise := rand.New(rand.NewPCG(11, uint64(r.Run)))
		plot := rand.New(rand.NewPCG(12, uint64(r.WholePlot)))
		v := 100 + 2*plot.NormFloat64() + 0.5*noise.NormFloat64()
		if slices.Contains(r.Levels, "B") {
			v += 2
		}
		return fmt.Sprintf("%.4f", v)
	})
	v, err := analysis.VerdictOver(t.Context(), s, 4000)
	if err != nil {
		t.Fatal(err)
	}
	r := &v.Responses[0]
	of := func(level, against string) verdict.Comparison {
		k := slices.IndexFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.Level == level && c.Against == against })
		if k < 0 {
			t.Fatalf("no comparison of %s against %s", level, against)
		}
		return r.Comparisons[k]
	}
	for _, prop := range []string{"p ", "q "} {
		c := of(prop+"B", prop+"A")
		if !(c.PAdjusted < 0.001 && c.PRandom <= 0.002 && c.LowRandom > 0) {
			t.Errorf("within whole plots: %+v", c)
		}
	}
	for _, controller := range []string{"A", "B", "C"} {
		if c := of("q "+controller, "p "+controller); !(c.PRandom > 0.05) {
			t.Errorf("between whole plots: %+v", c)
		}
	}
	k := slices.IndexFunc(r.Checks, func(c verdict.Check) bool { return c.Name == "randomisation" })
	if k < 0 || r.Checks[k].Flag || !strings.HasPrefix(r.Checks[k].Message, "over 4000 orders drawn afresh the same differences") {
		t.Errorf("checks %+v", r.Checks)
	}
}
