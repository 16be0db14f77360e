package analysis_test

import (
	"math"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// The number in the verdict's last column and the further blocks of "replicates" answer one question: what
// settles a comparison, the noise at its cautious limit, with what drift, blocks and looks cost.
func TestFurtherReplicatesAreFurtherBlocks(t *testing.T) {
	plain := "[block]\nname = \"pack\"\ncount = 4\nreplicates = 2\n"
	for name, rest := range map[string]string{
		"complete blocks, a line each": "[block]\nname = \"pack\"\ncount = 5\nreplicates = 1\n[drift]\nmodel = \"linear\"\nown = true\n",
		"incomplete blocks":            "[block]\nname = \"pack\"\ncount = 6\nruns = 2\n[drift]\nmodel = \"linear\"\n",
		"two looks":                    plain + "[analysis]\nlooks = 2\n",
		"baseline":                     plain + "[analysis]\ncompare = \"baseline\"\n",
		"whole plots":                  otherFactor + "hard_to_change = true\n" + plain,
	} {
		t.Run(name, func(t *testing.T) {
			s := campaigntest.Measured(t, someFactors+rest+thrust, nil, noisy)
			v, err := analysis.VerdictOver(t.Context(), s, 0)
			if err != nil {
				t.Fatal(err)
			}
			r, err := size.Ask{}.After(t.Context(), s)
			if err != nil {
				t.Fatal(err)
			}
			replicates := float64(s.Campaign.DrawnPerBlock()) / float64(len(s.Campaign.Treatments()))
			open := 0
			for _, z := range r.Responses[0].Sizes {
				for _, o := range z.Open {
					c := find(t, &v.Responses[0], z.Factors.Term(), o.Level, o.Against)
					if (c.More == nil) != (o.Needed == nil) {
						t.Fatalf("%s %s: the verdict has %v, replicates %v", o.Level, o.Against, c.More, o.Needed)
					}
					if c.More == nil {
						continue
					}
					open++
					if want := int(math.Ceil(float64(o.Needed.Blocks) * replicates)); *c.More != want {
						t.Errorf("%s against %s: %d more replicates, but %d blocks of %g", o.Level, o.Against, *c.More, o.Needed.Blocks, replicates)
					}
				}
			}
			if open == 0 {
				t.Error("nothing is open")
			}
		})
	}
}

// find returns a comparison of a response.
func find(t *testing.T, r *verdict.Response, factor, level, against string) verdict.Comparison {
	t.Helper()
	for _, c := range r.Comparisons {
		if c.Factors.Term() == factor && c.Level == level && c.Against == against {
			return c
		}
	}
	t.Fatalf("no comparison of %s %s with %s", factor, level, against)
	return verdict.Comparison{}
}
