package size_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

// The campaign of three motors: what level 4 adds varies with a variance of 13 between motors, which is 2(vI + v/4) with
// vI the interplay and v the noise between runs. So the standard error of a difference on m motors with r runs of each
// level is √(2(vI + v/r)/m).
func TestRunsSharedOutOverSpecimens(t *testing.T) {
	add := []float64{3, 5, 10}
	var blocks [][]int
	var values []float64
	for b := range 6 {
		blocks = append(blocks, []int{0, 1, 1, 0})
		d := add[b%3]
		values = append(values, 99.5, 100+d+0.25, 100+d-0.25, 100.5)
	}
	plan := fmt.Sprintf(campaigntest.SpecimensPlan, 3, 2) + "margin = 1\n"
	s := campaigntest.Filled(t, plan, blocks, values)
	r, err := size.Ask{Runs: 24}.After(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	e := r.Responses[0]
	if e.Allocation == nil || len(e.Sizes) != 1 || !strings.Contains(e.Caution, "the motors do not answer alike") {
		t.Fatalf("split %+v, caution %q", e.Allocation, e.Caution)
	}
	v, err := judged(s)
	if err != nil {
		t.Fatal(err)
	}
	noise := math.Pow(float64(v.Responses[0].Noise.SD), 2)
	interplay := 13./2 - noise/4
	var got []string
	for _, l := range e.Allocation.Alternatives {
		got = append(got, fmt.Sprint(l.Items, "×", l.Repeats, "=", l.Runs))
		want := math.Sqrt(2 * (interplay + noise/float64(l.Repeats)) / float64(l.Items))
		if math.Abs(float64(l.SE)-want) > 1e-6*want {
			t.Errorf("%d motors with %d runs: standard error %v, want %v", l.Items, l.Repeats, l.SE, want)
		}
	}
	if want := "2×6=24 3×4=24 4×3=24 6×2=24 12×1=24"; strings.Join(got, " ") != want {
		t.Errorf("layouts %v, want %s", got, want)
	}
	// One more motor of four takes 1/4 of everything; runs on the same motors only what runs there are to average out.
	if !strings.Contains(e.Allocation.Sentence, "1 more motor (8 runs) takes 25 % of it away, as many runs more on the same motors 0 %") {
		t.Errorf("said %q", e.Allocation.Sentence)
	}
	if e.Allocation.Factors.Term() != "weakening" || e.Noise.SD == verdict.Unknown {
		t.Errorf("split of %q", e.Allocation.Factors.Term())
	}
}

// A covariate takes a degree of freedom of those that replicates are computed with: 1 block of 2 levels and 2 runs of each
// has 4 runs less block, difference and covariate, 1 of 2, and the power that this leaves.
func TestCovariatesTakeFreedom(t *testing.T) {
	base := strings.Replace(fmt.Sprintf(campaigntest.SpecimensPlan, 1, 2), "count = 6", "count = 1", 1) + "margin = 1\nnoise = 0.2\n"
	power := func(text string) verdict.Number {
		c, err := plan.Parse("campaign.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		r, err := size.Ask{}.Before(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		return r.Responses[0].Sizes[0].Now.Power
	}
	// The noncentral t of noncentrality 5 at the two-sided 5 % point: R's 1-pt(qt(.975,df),df,5)+pt(-qt(.975,df),df,5).
	for p, want := range map[string]float64{base: 0.719180536, base + "[analysis]\ncovariates = [\"start_temp\"]\n": 0.305160103} {
		if got := float64(power(p)); math.Abs(got-want) > 1e-6 {
			t.Errorf("power %v, want %v", got, want)
		}
	}
}

// Three packs in which level 4 adds 3, 5 and 10: it does not do the same in all, which the noise within a pack is far too small
// to explain. For packs like these a difference has the standard error √(13/3) with 2 degrees of freedom, as of paired
// differences, and with three more packs √(13/6) with 5. The chances are those of R's noncentral t with noncentrality 10/SE.
func TestBlocksThatDisagreeAreASample(t *testing.T) {
	var blocks [][]int
	var values []float64
	for b, d := range []float64{3, 5, 10} {
		blocks = append(blocks, []int{0, 1, 1, 0})
		base := 100 + float64(7*b)
		values = append(values, base-0.5, base+d+0.25, base+d-0.25, base+0.5)
	}
	plan := strings.Replace(fmt.Sprintf(campaigntest.SpecimensPlan, 1, 2), "count = 6", "count = 3", 1) + "margin = 10\n"
	r, err := size.Ask{Blocks: 3}.After(t.Context(), campaigntest.Filled(t, plan, blocks, values))
	if err != nil {
		t.Fatal(err)
	}
	e := r.Responses[0]
	if e.Caution != "" || len(e.Sizes) != 1 {
		t.Fatalf("caution %q, sizes %+v, message %q", e.Caution, e.Sizes, e.Message)
	}
	if got, want := float64(e.Sizes[0].Now.Power), 0.691580156; math.Abs(got-want) > 1e-8 {
		t.Errorf("power as it stands %v, want %v", got, want)
	}
	if got, want := float64(e.Sizes[0].Asked.Power), 0.9994838825; math.Abs(got-want) > 1e-8 {
		t.Errorf("power with three more packs %v, want %v", got, want)
	}
	if e.Allocation == nil || e.Allocation.Item != "pack" || e.Allocation.Within != "" {
		t.Errorf("split %+v, want one over packs", e.Allocation)
	}
}

// judged is what the runs of a sheet say so far.
func judged(s *sheet.Sheet) (*verdict.Verdict, error) {
	d, q := question.Of(s)
	return verdict.Analyse(context.Background(), d, q)
}
