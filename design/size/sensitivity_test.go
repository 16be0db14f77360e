package size_test

import (
	"math"
	"strings"
	"testing"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/size"
)

// What 4 runs of two levels in each of 2 or 3 packs find, from testdata/sensitivity.R: 3 packs it takes.
func TestSensitivities(t *testing.T) {
	plan := strings.Replace(campaigntest.ExplainPlan, "[0, 4, 8, 12, 16]", "[0, 4]", 1) + "unit = \"N\"\nnoise = 2\nmargin = 3\n" +
		"[[response]]\nname = \"input\"\nbetter = \"lower\"\nmargin = 3\n[[response]]\nname = \"noise\"\nbetter = \"lower\"\nnoise = 3\n" +
		"[block]\nrandom = false\ncount = COUNT\nreplicates = 4\n[drift]\nmodel = \"none\"\n"
	for count, want := range map[string]size.Sensitivity{
		"2": {Detectable: 3.51036715, Power: 0.7918509852},
		"3": {Detectable: 2.783621896, Power: 0.9373376742, Enough: true},
	} {
		found, err := size.Sensitivities(campaigntest.Drawn(t, strings.Replace(plan, "COUNT", count, 1)))
		if err != nil || len(found) != 1 {
			t.Fatalf("%s packs: %+v, %v; want one response, the other two lack noise or margin", count, found, err)
		}
		f := found[0]
		if f.Name != "spin_up" || f.Margin.Value != 3 || f.Factors.Term() != "weakening" || f.FamilyCount != 1 || f.Enough != want.Enough || f.Needed == nil || f.Needed.Blocks != 3 {
			t.Errorf("%s packs: %+v", count, f)
		}
		if math.Abs(float64(f.Detectable-want.Detectable)) > 1e-7 || math.Abs(float64(f.Power-want.Power)) > 1e-7 {
			t.Errorf("%s packs: finds %v, the margin with a chance of %v; want %v and %v", count, f.Detectable, f.Power, want.Detectable, want.Power)
		}
	}
}

// It is what replicates says before results of the same order; of several factors the one that is known least well.
func TestSensitivitiesAgreeWithReplicates(t *testing.T) {
	plan := "title = \"a\"\nscope = \"b\"\nseed = 7\ninteractions = false\n" +
		"[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n[[factor]]\nname = \"weakening\"\nlevels = [0, 4, 8]\n" +
		"[[response]]\nname = \"pull\"\nbetter = \"higher\"\nmargin = \"2%\"\nnoise = \"1%\"\n[block]\ncount = 2\nreplicates = 1\n"
	for _, plan := range []string{plan, strings.Replace(plan, "\"B\"]", "\"B\"]\nhard_to_change = true", 1) + "[order]\ncarry_over = true\n"} {
		s := campaigntest.Drawn(t, plan)
		found, err := size.Sensitivities(s)
		if err != nil || len(found) != 1 {
			t.Fatal(found, err)
		}
		r, err := size.Ask{}.Before(t.Context(), s.Campaign)
		if err != nil {
			t.Fatal(err)
		}
		least := r.Responses[0].Sizes[0]
		if other := r.Responses[0].Sizes[1]; other.Now.Power < least.Now.Power {
			least = other
		}
		f := found[0]
		if f.Factors.Term() != least.Factors.Term() || f.FamilyCount != 2 || f.Power != least.Now.Power || f.Detectable != least.Now.Detectable || f.Enough ||
			least.Needed == nil || f.Needed == nil || f.Needed.Blocks != least.Needed.Blocks {
			t.Errorf("finds %+v, replicates says %+v", f, least)
		}
	}
}
