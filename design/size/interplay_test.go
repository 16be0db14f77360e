package size_test

import (
	"fmt"
	"math"
	"testing"

	"fairrun/design/internal/campaigntest"
	"fairrun/design/plan"
	"fairrun/design/size"
	"fairrun/stats/verdict"
)

const interplayPlan = `title = "Controllers"
scope = "pod thruster"
seed = 1
[specimens]
name = "motor"
count = %d
[[factor]]
name = "controller"
levels = [%s]
[block]
name = "pack"
count = %d
replicates = 2
[drift]
model = "linear"
[[response]]
name = "thrust"
unit = "N"
better = "higher"
margin = "2%%"
noise = "1%%"
[simulation]
interplay = "%d%%"
`

// How often "fairrun rehearse" of the same plans, with [simulation] failures = outliers = sag = "0%" and heat = "0 K",
// finds the margin in 4000 campaigns in the order drawn for them: good to half a point.
func TestChanceWithUnitsIsTheRehearsed(t *testing.T) {
	for _, r := range []struct {
		specimens, packs, interplay int
		levels                      string
		want                        float64
		hopeless                    bool
	}{
		{2, 4, 0, `"A", "B"`, 0.0005, true}, // 117 packs would do, which nobody can afford
		{2, 4, 25, `"A", "B"`, 0.0003, true},
		{2, 8, 100, `"A", "B", "C", "D"`, 0.099, true},
		{3, 12, 0, `"A", "B"`, 0.875, false},
		{3, 6, 50, `"A", "B"`, 0.282, true},
		{4, 8, 0, `"A", "B"`, 0.914, false},
		{4, 8, 25, `"A", "B"`, 0.874, false},
		{4, 8, 25, `"A", "B", "C", "D"`, 0.935, false},
		{6, 12, 25, `"A", "B"`, 0.998, false},
	} {
		name := fmt.Sprintf("%d motors, %d packs, %d %%, levels %s", r.specimens, r.packs, r.interplay, r.levels)
		c, err := plan.Parse("campaign.toml", fmt.Appendf(nil, interplayPlan, r.specimens, r.levels, r.packs, r.interplay))
		if err != nil {
			t.Fatal(err)
		}
		answer, err := size.Ask{}.Before(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		z := answer.Responses[0].Sizes[0]
		if got := float64(z.Now.Power); math.Abs(got-r.want) > 0.025 {
			t.Errorf("%s: chance %v, rehearsed %v", name, got, r.want)
		}
		if (z.Needed == nil) != r.hopeless {
			t.Errorf("%s: enough %+v, hopeless should be %v", name, z.Needed, r.hopeless)
		}
		if got := float64(answer.Responses[0].Interplay); got != float64(r.interplay)/100 {
			t.Errorf("%s: interplay %v", name, got)
		}
		n := z.NeededSpecimens
		if n == nil || float64(n.Power) < 0.9 || r.hopeless && n.Specimens <= r.specimens {
			t.Errorf("%s: %+v motors would do", name, n)
			continue
		}
		for _, p := range z.BySpecimens {
			if p.Specimens < n.Specimens && p.Power >= 0.9 {
				t.Errorf("%s: %d motors find it already, not %d", name, p.Specimens, n.Specimens)
			}
		}
	}
}

// More packs on the motors that answered so far add no degrees of freedom, more motors do.
func TestFurtherPacksKeepTheMotorsFew(t *testing.T) {
	add := []float64{3, 5, 10}
	var blocks [][]int
	var values []float64
	for b := range 6 {
		blocks = append(blocks, []int{0, 1, 1, 0})
		values = append(values, 98.5, 100+add[b%3]+1.5, 100+add[b%3]-1.5, 101.5)
	}
	r, err := size.Ask{}.After(t.Context(), campaigntest.Filled(t, fmt.Sprintf(campaigntest.SpecimensPlan, 3, 2)+"margin = 8\n", blocks, values))
	if err != nil {
		t.Fatal(err)
	}
	z := r.Responses[0].Sizes[0]
	// Differences of 3, 5 and 10 vary with 13: on three motors the standard error stays above √(13/3) less the noise of
	// runs in it. The critical value of two degrees of freedom is 4.30 (tables), so 8 is not found nine times in ten.
	if z.Needed != nil || z.NeededSpecimens == nil || z.NeededSpecimens.Specimens <= 3 {
		t.Errorf("further packs %+v, motors %+v", z.Needed, z.NeededSpecimens)
	}
	for _, p := range z.Curve {
		if p.Power > 0.9 {
			t.Errorf("%d further packs find it with %v", p.Blocks, p.Power)
		}
	}
	last := verdict.Number(0)
	for _, l := range r.Responses[0].Allocation.Alternatives {
		if l.DF != verdict.Number(l.Items-1) && l.Repeats > 1 || !(l.Power >= last) {
			t.Errorf("layout %+v: want %d degrees of freedom and more of a chance than %v", l, l.Items-1, last)
		}
		last = l.Power
	}
}
