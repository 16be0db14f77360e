package analysis_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/size"
)

func TestExplainWholePlots(t *testing.T) {
	hard := "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true"
	for interactions, want := range map[string]struct{ between, within, pairs float64 }{"false": {1.5, 2. / 4, 1}, "true": {2, 2. / 2, 4}} {
		plan := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, hard), "interactions = false", "interactions = "+interactions, 1)
		e := explain(t, campaigntest.Drawn(t, plan))
		if f := e.Families[0]; f.Between != int(want.pairs) || f.Open != 0 {
			t.Errorf("interactions %s: %d comparisons between whole plots, %d open, want %v and none", interactions, f.Between, f.Open, want.pairs)
		}
		for _, f := range e.Families {
			for _, p := range f.Comparisons {
				variance := want.within
				if p.Between {
					variance = want.between
				}
				if math.Abs(p.Variance-variance) > 1e-12 {
					t.Errorf("interactions %s: %s against %s: variance %v, want %v", interactions, p.Level, p.Against, p.Variance, variance)
				}
			}
		}
		if whole := e.Strata[0]; whole.Settings != 2 || whole.Replicates != 2 || whole.DF != 1 {
			t.Errorf("whole plots %+v, want 2 settings of 2 with 1 degree of freedom", whole)
		}
	}
}

func TestExplainIncompleteWholePlots(t *testing.T) {
	plan := `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "prop"
levels = ["A", "B"]
hard_to_change = true
[[factor]]
name = "weakening"
levels = [0, 4, 8]
[block]
name = "pack"
count = 6
runs = 4
[[response]]
name = "pull"
better = "higher"
`
	s := campaigntest.Filled(t, plan, [][]int{{0, 1, 3, 4}, {4, 5, 1, 2}, {2, 0, 5, 3}, {3, 5, 0, 1}, {2, 1, 4, 3}, {5, 4, 0, 2}}, nil)
	want := map[string][2]float64{
		"B 0 A 0": {0.937014273003, 0.9158004158}, "B 0 A 4": {0.916740642158, 0.9158004158},
		"B 4 A 8": {0.915815106837, 0.9158004158}, "B 8 A 0": {0.916520276606, 0.9158004158},
		"A 4 A 0": {0.663102865979, 0.632016632017}, "B 8 B 4": {0.635967933286, 0.632016632017},
	}
	e := explain(t, s)
	if got := float64(e.Efficiency); math.Abs(got-0.988896642133) > 1e-9 {
		t.Errorf("efficiency %v, want 0.988896642133", got)
	}
	f := e.Families[0]
	if f.Between != 9 || f.Open != 0 {
		t.Errorf("%d comparisons between whole plots, %d open, want 9 and none", f.Between, f.Open)
	}
	seen := 0
	for _, p := range f.Comparisons {
		w, known := want[p.Level+" "+p.Against]
		if !known {
			continue
		}
		seen++
		if between := p.Level[0] != p.Against[0]; p.Between != between || math.Abs(p.Variance-w[0]) > 1e-9 || math.Abs(p.WithoutDrift-w[1]) > 1e-9 {
			t.Errorf("%s against %s: %+v, want %v", p.Level, p.Against, p, w)
		}
	}
	if seen != len(want) {
		t.Errorf("%d comparisons of %d were made", seen, len(want))
	}
}

func TestExplainEfficiencyOfTheOrder(t *testing.T) {
	mainEffects := strings.Replace(fmt.Sprintf(campaigntest.StrataPlan, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\"]"), "\"none\"", "\"quadratic\"", 1)
	screen := "title = \"a\"\nscope = \"b\"\n"
	for _, name := range []string{"prop", "nozzle", "coating", "strut", "gearing"} {
		screen += fmt.Sprintf("[[factor]]\nname = %q\nlevels = [0, 1]\n", name)
	}
	screen += "[block]\ncount = 4\nruns = 8\n[order]\nresolution = \"V\"\n[[response]]\nname = \"pull\"\nbetter = \"higher\"\n"
	for name, plan := range map[string]string{
		"main effects":               mainEffects,
		"a screen":                   screen,
		"a screen with whole plots":  strings.Replace(screen, "levels = [0, 1]", "levels = [0, 1]\nhard_to_change = true", 1),
		"whole plots and neighbours": strings.Replace(strings.Replace(strings.Replace(mainEffects, "count = 2", "count = 3", 1), "\"C\"]", "\"C\"]\nhard_to_change = true", 1), "interactions = false", "interactions = true", 1) + "[order]\ncarry_over = true\n",
	} {
		s := campaigntest.Drawn(t, plan)
		if got, want := float64(explain(t, s).Efficiency), s.Draw.Order.Efficiency; math.Abs(got-want) > 1e-9 || want > 0.999 {
			t.Errorf("%s: efficiency of the comparisons %v, of the order %v", name, got, want)
		}
	}
}

func TestFiguresOfWholePlotsAreTheSameEveryTime(t *testing.T) {
	plan := `title = "Field weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "prop"
levels = ["A", "B"]
hard_to_change = true
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12]
[block]
name = "pack"
count = 4
runs = 6
[drift]
model = "quadratic"
[[response]]
name = "pull"
better = "higher"
margin = 3
noise = 2
`
	s := campaigntest.Drawn(t, plan)
	spread := 1.5
	figures := func() string {
		r, err := size.Ask{WholePlotNoise: &spread}.Before(t.Context(), campaigntest.Parsed(t, plan))
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal([]any{explain(t, s), r})
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	first := figures()
	for range 9 {
		if diff := cmp.Diff(first, figures()); diff != "" {
			t.Fatalf("the same plan gave other figures:\n%s", diff)
		}
	}
}
