package analysis_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
)

// Packs that do not hold every level are random, and what lies between them is used: estimates, standard errors, degrees
// of freedom and the parts of the noise are those of R's lme4, pbkrtest and emmeans (testdata/recovered/recovered.R). The
// randomisation test stays within packs.
func TestIncompleteBlocksAreRecovered(t *testing.T) {
	text, err := os.ReadFile("testdata/recovered/recovered.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Treatments []int
		Pull       []float64
		Pack, Run  float64
		Pairs      []struct {
			Pair                string
			Estimate, SE, DF, P float64
		}
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	var blocks [][]int
	for i := 0; i < len(ref.Treatments); i += 2 {
		blocks = append(blocks, ref.Treatments[i:i+2])
	}
	s := campaigntest.Filled(t, `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12]
[block]
name = "pack"
count = 10
runs = 2
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
margin = 3
`, blocks, ref.Pull)
	v, err := analysis.VerdictOver(t.Context(), s, 0)
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= 1e-6*math.Abs(want)) { // what the optimiser of lme4 leaves
			t.Errorf("%s = %.10g, want %.10g", what, got, want)
		}
	}
	near("pack to pack", float64(r.Noise.Components[0].SD), ref.Pack)
	near("run to run", float64(r.Noise.Components[1].SD), ref.Run)
	found := 0
	for _, c := range r.Comparisons {
		for _, w := range ref.Pairs {
			if w.Pair == "weakening"+c.Level+" - weakening"+c.Against {
				found++
				near(w.Pair, float64(c.Estimate), w.Estimate)
				near(w.Pair+" se", float64(c.SE), w.SE)
				near(w.Pair+" df", float64(c.DF), w.DF)
				if !(math.Abs(float64(c.PAdjusted)-w.P) <= 5e-7) { // R's ptukey is right to about that, absolutely
					t.Errorf("%s adjusted p = %v, want %v", w.Pair, c.PAdjusted, w.P)
				}
			}
		}
	}
	if found != 6 {
		t.Errorf("%d of 6 comparisons", found)
	}
	said := false
	for _, k := range r.Checks {
		said = said || k.Name == "incomplete blocks" && strings.Contains(k.Message, "pack random")
		if k.Name == "scope" {
			t.Errorf("packs are not what the scope is about: %s", k.Message)
		}
	}
	if !said {
		t.Errorf("nothing is said of the packs: %+v", r.Checks)
	}
}
