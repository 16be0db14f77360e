package analysis_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
)

// In packs of the treatments A 0, B 4 and A 4, B 0 the interaction is the difference between the packs. Treatments that never
// meet say nothing where main effects are compared.
func TestExplainInteractionsBetweenPacks(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]"), "count = 2\nreplicates = 1", "count = 4\nruns = 2", 1)
	e := explain(t, campaigntest.Filled(t, plan, [][]int{{0, 3}, {1, 2}, {3, 0}, {2, 1}}, nil))
	want := []string{
		"interactions are taken to be absent: where there are some, they are counted as noise or as main effects",
		"drift within a pack, which the plan takes to be absent, is counted as noise or as an effect",
		"the interaction of prop and weakening rests on differences between packs alone",
	}
	if diff := cmp.Diff(want, e.Confounded); diff != "" {
		t.Errorf("confounded (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]analysis.BetweenBlocks{{Factors: [2]string{"prop", "weakening"}, Share: 1}}, e.Between); diff != "" {
		t.Errorf("between packs (-want +got):\n%s", diff)
	}

	// Signs of the interaction + − | + + | − − | + −: means 0, 1, −1, 0, so half of it lies between packs. Treatments are
	// compared one by one here: 0 and 1, 0 and 3, 1 and 2, 2 and 3 meet, two pairs do not.
	e = explain(t, campaigntest.Filled(t, strings.Replace(plan, "interactions = false\n", "", 1), [][]int{{0, 1}, {3, 0}, {2, 1}, {3, 2}}, nil))
	for _, line := range []string{
		"50 % of what tells the interaction of prop and weakening lies between packs",
		"2 of the 6 pairs of treatments never meet in a pack and are compared by way of others",
	} {
		if !slices.Contains(e.Confounded, line) {
			t.Errorf("confounded %q lacks %q", e.Confounded, line)
		}
	}
	e = explain(t, campaigntest.Drawn(t, strings.Replace(plan, "count = 4\nruns = 2", "count = 2\nreplicates = 1", 1)))
	if len(e.Between) > 0 {
		t.Errorf("in complete packs %+v lie between packs", e.Between)
	}
}

// Whole plots A, B in either pack: less its mean the level A is ½ ½ −½ −½, with the course −3 −1 1 3 that makes 4 of √20. Turned
// round in the second pack nothing is left.
func TestExplainAlongDrift(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"), "\"none\"", "\"linear\"", 1)
	line := fmt.Sprintf("prop lies along the drift: within the packs its level A is correlated with that by %.2f, where 1 cannot be distinguished from it", 4/math.Sqrt(20))
	for _, c := range []struct {
		blocks [][]int
		want   bool
	}{
		{[][]int{{0, 1, 2, 3}, {1, 0, 2, 3}}, true},
		{[][]int{{0, 1, 2, 3}, {2, 3, 1, 0}}, false},
	} {
		if got := explain(t, campaigntest.Filled(t, plan, c.blocks, nil)).Confounded; slices.Contains(got, line) != c.want {
			t.Errorf("%v: %q", c.blocks, got)
		}
	}
}
