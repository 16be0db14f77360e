package analysis_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairrun/design/analysis"
	"fairrun/design/internal/campaigntest"
)

// Three motors, two packs each, two runs of a level in a pack. What level 4 adds on each motor is 3, 5 and 10: 6 on
// average, with a standard deviation of √13 among motors and so a standard error of √(13/3) with 2 degrees of freedom,
// whatever the runs within a motor say, since the layout is balanced (paired differences of the motors' means).
func TestSeveralSpecimensAreJudgedByWhatTheyAgreeOn(t *testing.T) {
	add := []float64{3, 5, 10}
	var blocks [][]int
	var values []float64
	for b := range 6 {
		blocks = append(blocks, []int{0, 1, 1, 0})
		base, d := 100+float64(7*b%5), add[b%3]
		values = append(values, base-0.5, base+d+0.25, base+d-0.25, base+0.5)
	}
	s := campaigntest.Filled(t, fmt.Sprintf(campaigntest.SpecimensPlan, 3, 2), blocks, values)
	if s.Runs[4].Specimen != 2 || s.Runs[12].Specimen != 1 {
		t.Errorf("packs 2 and 4 belong to motors %d and %d, want 2 and 1", s.Runs[4].Specimen, s.Runs[12].Specimen)
	}
	v, err := analysis.VerdictOver(t.Context(), s, 0)
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	c := r.Comparisons[0]
	if math.Abs(float64(c.Estimate)-6) > 1e-9 || math.Abs(float64(c.SE)-math.Sqrt(13./3)) > 1e-6 || math.Abs(float64(c.DF)-2) > 1e-6 {
		t.Errorf("4 against 0 = %v, standard error %v with %v degrees of freedom; want 6, %v, 2; checks %+v", c.Estimate, c.SE, c.DF, math.Sqrt(13./3), r.Checks)
	}
	if v.Campaign.Holds != "motors like these 3, on packs like these 6 (pod thruster)." {
		t.Errorf("holds for %q", v.Campaign.Holds)
	}
	said := false
	for _, k := range r.Checks {
		said = said || strings.Contains(k.Message, "judged by how far 3 motors agree on them: 3 motors stand behind each")
	}
	if !said {
		t.Errorf("nothing is said of the motors: %+v", r.Checks)
	}
}

// One run of each level on each motor: least squares within packs is the paired comparison of motors. With one motor
// alone the verdict warns.
func TestOneRunOrOneSpecimen(t *testing.T) {
	var blocks [][]int
	var values []float64
	for b := range 6 {
		blocks = append(blocks, []int{0, 1})
		values = append(values, 100, 100+float64(b))
	}
	v, err := analysis.VerdictOver(t.Context(), campaigntest.Filled(t, fmt.Sprintf(campaigntest.SpecimensPlan, 6, 1), blocks, values), 0)
	if err != nil {
		t.Fatal(err)
	}
	c := v.Responses[0].Comparisons[0]
	// The differences are 0 … 5: mean 2.5, standard deviation √3.5, standard error √(3.5/6) with 5 degrees of freedom.
	if math.Abs(float64(c.Estimate)-2.5) > 1e-9 || math.Abs(float64(c.SE)-math.Sqrt(3.5/6)) > 1e-9 || math.Abs(float64(c.DF)-5) > 1e-9 {
		t.Errorf("4 against 0 = %v, standard error %v with %v degrees of freedom; want 2.5, %v, 5", c.Estimate, c.SE, c.DF, math.Sqrt(3.5/6))
	}

	v, err = analysis.VerdictOver(t.Context(), campaigntest.Filled(t, fmt.Sprintf(campaigntest.SpecimensPlan, 1, 1), blocks, values), 0)
	if err != nil {
		t.Fatal(err)
	}
	warned := false
	for _, k := range v.Responses[0].Checks {
		warned = warned || k.Name == "specimens" && k.Flag && strings.Contains(k.Message, "one motor was tested")
	}
	if !warned || !strings.HasPrefix(v.Campaign.Holds, "this motor alone, on packs like these 6 (pod thruster)") {
		t.Errorf("no warning of one motor: %q, %+v", v.Campaign.Holds, v.Responses[0].Checks)
	}
}

// A plan that says nothing of specimens speaks of what was tested, and says so once, calmly.
func TestSpecimensNotStated(t *testing.T) {
	plan := strings.Replace(fmt.Sprintf(campaigntest.SpecimensPlan, 1, 1), "[specimens]\nname = \"motor\"\ncount = 1\n", "", 1)
	blocks, values := [][]int{}, []float64{}
	for b := range 6 {
		blocks = append(blocks, []int{0, 1})
		values = append(values, 100, 100+float64(b))
	}
	v, err := analysis.VerdictOver(t.Context(), campaigntest.Filled(t, plan, blocks, values), 0)
	if err != nil {
		t.Fatal(err)
	}
	said := 0
	for _, k := range v.Responses[0].Checks {
		if k.Name != "specimens" {
			continue
		}
		said++
		if want := "the runs speak of what was tested alone (pod thruster): nothing here says whether others of its type answer alike; several of them would, with [specimens] in the plan"; k.Message != want || k.Flag {
			t.Errorf("check %+v, want %s", k, want)
		}
	}
	if said != 1 || v.Campaign.Holds != "packs like these 6 (pod thruster)." {
		t.Errorf("said %d times; holds %q", said, v.Campaign.Holds)
	}
}
