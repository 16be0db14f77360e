package analysis_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/question"
)

const sessionsPlan = `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [%s]
[block]
name = "charge"
count = 12
runs = 2
[session]
name = "day"
blocks = 2
[items]
name = "pack"
labels = [%s]
[drift]
model = "none"
[[response]]
name = "pull"
better = "higher"
margin = 3
`

// Days and packs that hold every level are fixed, others random, beside the random charges: estimates, standard errors and
// degrees of freedom are those of R's lme4, pbkrtest and emmeans (testdata/sessions/sessions.R).
func TestSessionsAndItemsOfIncompleteBlocks(t *testing.T) {
	text, err := os.ReadFile("testdata/sessions/sessions.json")
	if err != nil {
		t.Fatal(err)
	}
	var refs map[string]struct {
		Treatments []int
		Pull       []float64
		Pairs      []struct {
			Pair             string
			Estimate, SE, DF float64
		}
	}
	if err := json.Unmarshal(text, &refs); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, levels, labels string
		random, blocks       []string
	}{
		{"complete", "0, 1, 2, 3", `"P1", "P2"`, []string{"charge"}, []string{"day", "pack"}},
		{"incomplete", "0, 1, 2, 3, 4", `"P1", "P2", "P3", "P4"`, []string{"charge", "day", "pack"}, nil},
	} {
		ref := refs[c.name]
		var blocks [][]int
		for i := 0; i < len(ref.Treatments); i += 2 {
			blocks = append(blocks, ref.Treatments[i:i+2])
		}
		s := campaigntest.Filled(t, fmt.Sprintf(sessionsPlan, c.levels, c.labels), blocks, ref.Pull)
		d, _ := question.Of(s)
		var random, fixed []string
		for _, f := range d.Recovered {
			random = append(random, f.Name)
		}
		for _, f := range d.Blocks {
			fixed = append(fixed, f.Name)
		}
		if !slices.Equal(random, c.random) || !slices.Equal(fixed, c.blocks) {
			t.Errorf("%s: random %v and fixed %v, want %v and %v", c.name, random, fixed, c.random, c.blocks)
		}
		v, err := analysis.VerdictOver(t.Context(), s, 0)
		if err != nil {
			t.Fatal(err)
		}
		r := v.Responses[0]
		near := func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got-want) <= 2e-5*math.Abs(want)) { // what the optimiser of lme4 leaves
				t.Errorf("%s: %s = %.10g, want %.10g", c.name, what, got, want)
			}
		}
		found := 0
		for _, k := range r.Comparisons {
			for _, w := range ref.Pairs {
				if w.Pair == "level"+k.Level+" - level"+k.Against {
					found++
					near(w.Pair, float64(k.Estimate), w.Estimate)
					near(w.Pair+" se", float64(k.SE), w.SE)
					near(w.Pair+" df", float64(k.DF), w.DF)
				}
			}
		}
		if found != len(ref.Pairs) || found == 0 {
			t.Errorf("%s: %d of %d comparisons", c.name, found, len(ref.Pairs))
		}
		said := false
		for _, k := range r.Checks {
			said = said || k.Name == "incomplete blocks" && strings.Contains(k.Message, "day random")
		}
		if said != (c.name == "incomplete") {
			t.Errorf("%s: what is said of the days: %v", c.name, said)
		}
	}
}
