package analysis_test

import (
	"math"
	"strings"
	"testing"

	"fairrun/design/analysis"
)

// What 4 runs of two levels in each of 2 or 3 packs find, from testdata/finds.R: 3 packs it takes.
func TestSmallest(t *testing.T) {
	plan := strings.Replace(explainPlan, "[0, 4, 8, 12, 16]", "[0, 4]", 1) + "unit = \"N\"\nnoise = 2\nmargin = 3\n" +
		"[[response]]\nname = \"power\"\nbetter = \"lower\"\nmargin = 3\n[[response]]\nname = \"noise\"\nbetter = \"lower\"\nnoise = 3\n" +
		"[block]\ncount = COUNT\nreplicates = 4\n[drift]\nmodel = \"none\"\n"
	for count, want := range map[string]analysis.Finds{
		"2": {Smallest: 3.51036715, Power: 0.7918509852},
		"3": {Smallest: 2.783621896, Power: 0.9373376742, Enough: true},
	} {
		finds, err := analysis.Smallest(drawnSheet(t, strings.Replace(plan, "COUNT", count, 1)))
		if err != nil || len(finds) != 1 {
			t.Fatalf("%s packs: %+v, %v; want one response, the other two lack noise or margin", count, finds, err)
		}
		f := finds[0]
		if f.Response != "spin_up" || f.Margin.Value != 3 || f.Factor != "weakening" || f.Families != 1 || f.Enough != want.Enough || f.Blocks == nil || *f.Blocks != 3 {
			t.Errorf("%s packs: %+v", count, f)
		}
		if math.Abs(float64(f.Smallest-want.Smallest)) > 1e-7 || math.Abs(float64(f.Power-want.Power)) > 1e-7 {
			t.Errorf("%s packs: finds %v, the margin with a chance of %v; want %v and %v", count, f.Smallest, f.Power, want.Smallest, want.Power)
		}
	}
}

// It is what replicates says before results of the same order; of several factors the one that is told least well.
func TestSmallestAgreesWithReplicates(t *testing.T) {
	plan := "title = \"a\"\nscope = \"b\"\nseed = 7\ninteractions = false\n" +
		"[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n[[factor]]\nname = \"weakening\"\nlevels = [0, 4, 8]\n" +
		"[[response]]\nname = \"pull\"\nbetter = \"higher\"\nmargin = \"2%\"\nnoise = \"1%\"\n[block]\ncount = 2\nreplicates = 1\n"
	for _, plan := range []string{plan, strings.Replace(plan, "\"B\"]", "\"B\"]\nchange = \"hard\"", 1) + "[order]\ncarry_over = true\n"} {
		s := drawnSheet(t, plan)
		finds, err := analysis.Smallest(s)
		if err != nil || len(finds) != 1 {
			t.Fatal(finds, err)
		}
		r, err := analysis.Ask{}.Before(s.Campaign)
		if err != nil {
			t.Fatal(err)
		}
		least := r.Responses[0].Sizes[0]
		if other := r.Responses[0].Sizes[1]; other.Now.Power < least.Now.Power {
			least = other
		}
		f := finds[0]
		if f.Factor != least.Factor || f.Families != 2 || f.Power != least.Now.Power || f.Smallest != least.Now.Detectable || f.Enough ||
			least.Needed == nil || f.Blocks == nil || *f.Blocks != least.Needed.Blocks {
			t.Errorf("finds %+v, replicates says %+v", f, least)
		}
	}
}
