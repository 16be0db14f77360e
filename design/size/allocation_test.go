package size

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/stats/verdict"
)

// Balanced incomplete blocks by generalised least squares with known variances in R (testdata/allocation.R); with every
// treatment in each block, twice, 2σ²/r whatever the blocks do.
func TestDifferenceInBlocks(t *testing.T) {
	for _, tt := range []struct {
		t                          int
		b, k, noise, between, want float64
	}{
		{5, 10, 3, 1.44, 0.9, 0.538536585365853},
		{5, 5, 4, 1.44, 0.9, 0.753644859813084},
		{4, 6, 2, 0.25, 3, 0.245098039215686},
		{3, 4, 6, 1.5, 100, 2 * 1.5 / 8},
	} {
		if got := differenceInBlocks(tt.t, tt.b, tt.k, tt.noise, tt.between); math.Abs(got/tt.want-1) > 1e-12 {
			t.Errorf("%d treatments in %v blocks of %v: variance %.15g, want %.15g", tt.t, tt.b, tt.k, got, tt.want)
		}
	}
}

// 24 runs of 2 levels on motors, packs on each and repeats: with variances of 4, 1 and 2 the variance of a difference is
// 2 (4/u + 1/(up) + 2/(upr)). A pack of a capacity for 7 runs holds 3 of each level.
func TestLayoutsOverSpecimensAndPacks(t *testing.T) {
	plan := campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, false))
	plan.Factors = plan.Factors[:1]
	plan.Block = design.Block{Name: "pack", Count: 4, Replicates: 2}
	plan.Interactions = false
	plan.Budget = &design.Budget{Supply: &design.Supply{Capacity: 7, Usable: 1, PerRun: 1, Unit: "Ah"}}
	s := sharing{plan: plan, levels: 2, runs: 24, noise: 2, unit: 1}
	part := func(item string, variance float64) verdict.DifferencePart {
		return verdict.DifferencePart{Name: item + ":prop", Item: item, SD: verdict.Number(math.Sqrt(variance))}
	}
	var got []string
	for _, l := range s.alternatives([]verdict.DifferencePart{part("motor", 4), part("pack", 1)}) {
		got = append(got, fmt.Sprintf("%d×%d×%d", l.Items, l.Within, l.Repeats))
		u, p, r := float64(l.Items), float64(l.Within), float64(l.Repeats)
		if want := math.Sqrt(2 * (4/u + 1/(u*p) + 2/(u*p*r))); math.Abs(float64(l.SE)-want) > 1e-12 || l.Runs != l.Items*l.Within*l.Repeats*2 {
			t.Errorf("%+v, want a standard error of %v", l, want)
		}
	}
	if want := "2×2×3 2×3×2 2×6×1 3×2×2 3×4×1 4×1×3 4×3×1 6×1×2 6×2×1 12×1×1"; strings.Join(got, " ") != want {
		t.Errorf("layouts %v, want %s", got, want)
	}
	got = nil
	for _, l := range s.alternatives([]verdict.DifferencePart{part("pack", 1)}) {
		got = append(got, fmt.Sprintf("%d×%d", l.Items, l.Repeats))
	}
	if want := "4×3 6×2 12×1"; strings.Join(got, " ") != want {
		t.Errorf("layouts %v, want %s", got, want)
	}
}

// The noise of several campaigns is pooled by degrees of freedom; one that differs by more than chance is named. The
// p-values are R's (testdata/allocation.R).
func TestRecordedNoisePools(t *testing.T) {
	pull := &design.Response{Name: "pull", Unit: "N", Scale: design.ScaleRaw, Margin: design.Amount{Set: true, Value: 1}}
	record := func(noises ...plan.MeasuredNoise) *plan.NoiseRecord {
		var n plan.NoiseRecord
		for i, m := range noises {
			m.Name = "pull"
			seed := uint64(i)
			n.Keep(plan.MeasuredCampaign{Title: fmt.Sprint("campaign ", i+1), Seed: &seed, Responses: []plan.MeasuredNoise{m}})
		}
		return &n
	}
	newtons := func(sd, df float64, parts ...plan.NoiseComponent) plan.MeasuredNoise {
		return plan.MeasuredNoise{Unit: "N", Mean: 50, SD: sd, DF: df, Components: parts}
	}
	for _, tt := range []struct {
		name   string
		record *plan.NoiseRecord
		sd, df float64
		apart  string
	}{
		{"one", record(newtons(1.2, 20)), 1.2, 20, ""},
		{"alike", record(newtons(1.2, 20), newtons(1.5, 18)), math.Sqrt((20*1.44 + 18*2.25) / 38), 38, ""},
		{"apart", record(newtons(1.2, 20), newtons(2.6, 18)), math.Sqrt((20*1.44 + 18*6.76) / 38), 38, `scattered more than the other by more than chance makes it (p = 0.0013)`},
		{"three", record(newtons(1.2, 20), newtons(1.5, 18), newtons(3, 10)), math.Sqrt((20*1.44 + 18*2.25 + 10*9) / 48), 48, `"campaign 3" scattered more than the others by more than chance makes it (p = 0.0009)`},
		{"share of the mean", record(plan.MeasuredNoise{Relative: true, Unit: "N", Mean: -40, SD: 0.02, DF: 7}), 0.8, 7, ""},
		{"another unit", record(plan.MeasuredNoise{Unit: "kg", Mean: 40, SD: 0.02, DF: 7}, newtons(1, 3)), 1, 3, ""},
	} {
		got := recordedNoise(tt.record, pull)
		if math.Abs(got.sd/tt.sd-1) > 1e-12 || got.df != tt.df || !got.known() || got.spread != 1 {
			t.Errorf("%s: %+v, want sd %v on %v", tt.name, got, tt.sd, tt.df)
		}
		if tt.apart == "" && got.apart != "" || !strings.Contains(got.apart, tt.apart) {
			t.Errorf("%s: said %q, want %q", tt.name, got.apart, tt.apart)
		}
	}
	if got := recordedNoise(record(newtons(1, 4)), &design.Response{Name: "thrust"}); got.known() {
		t.Errorf("%+v of a response that no campaign measured", got)
	}
	plots := record(newtons(1, 10, plan.NoiseComponent{Name: question.WholePlot, SD: 2}), newtons(2, 30, plan.NoiseComponent{Name: question.WholePlot, SD: 2}), newtons(1, 5))
	if got, want := recordedNoise(plots, pull).spread, math.Sqrt((10*4+30*1.)/40); math.Abs(got-want) > 1e-12 {
		t.Errorf("spread of whole plots %v, want %v", got, want)
	}
	relative := &design.Response{Name: "pull", Scale: design.ScaleLog, Margin: design.Amount{Set: true, Value: 0.02, Relative: true}}
	// The standard deviation of logs that goes with a relative one of 2 % is √log(1 + 0.02²).
	if got, want := recordedNoise(record(newtons(1, 4)), relative).sd, math.Sqrt(math.Log1p(0.0004)); math.Abs(got/want-1) > 1e-12 {
		t.Errorf("%v of logs, want %v", got, want)
	}
}

// What the plan leaves open is filled in from the record of its rig, in the terms of its margin; the bench to rehearse on
// takes the same, unless it states its own.
func TestAssumedFillsIn(t *testing.T) {
	dir := t.TempDir()
	n := &plan.NoiseRecord{Campaigns: []plan.MeasuredCampaign{{Title: "a", Responses: []plan.MeasuredNoise{
		{Name: "spin_up", Unit: "ms", Relative: true, Mean: 600, SD: 0.012, DF: 30}, {Name: "pull", Unit: "N", Mean: 50, SD: 0.7, DF: 30},
	}}}}
	if err := os.WriteFile(dir+"/noise.toml", n.Text(), 0o666); err != nil {
		t.Fatal(err)
	}
	const head = `title = "t"
scope = "s"
[rig]
noise_file = "noise.toml"
[[factor]]
name = "prop"
levels = ["A", "B"]
[block]
count = 2
replicates = 2
`
	for _, tt := range []struct{ name, text, spinUp, pull string }{
		{"both", "", "1.2%", "0.7"},
		{"one stated", "noise = \"3%\"\n", "3%", "0.7"},
	} {
		text := head + "[[response]]\nname = \"pull\"\nunit = \"N\"\nbetter = \"higher\"\nmargin = 2\n[[response]]\nname = \"spin_up\"\nunit = \"ms\"\nbetter = \"lower\"\nmargin = \"2%\"\n" + tt.text
		for _, bench := range []string{"", "[simulation]\nsag = \"20%\"\n", "[simulation.response.pull]\nnoise = 0.9\n"} {
			plan, err := plan.Parse(dir+"/campaign.toml", []byte(text+bench))
			if err != nil {
				t.Fatal(err)
			}
			before := slices.Clone(plan.Responses)
			got, err := Assumed(plan)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(before, plan.Responses) {
				t.Error("the plan itself was changed")
			}
			if a, b := rounded(got.Responses[1].Noise), rounded(got.Responses[0].Noise); a != tt.spinUp || b != tt.pull {
				t.Errorf("%s: noise %s and %s, want %s and %s", tt.name, a, b, tt.spinUp, tt.pull)
			}
			sim := got.Simulation
			if sim == nil {
				sim = got.DefaultSimulation()
			}
			want := tt.pull
			if strings.Contains(bench, "0.9") {
				want = "0.9"
			}
			if a, b := rounded(sim.Responses[1].Noise), rounded(sim.Responses[0].Noise); a != tt.spinUp || b != want || sim.Responses[0].Assumed || sim.Responses[1].Assumed {
				t.Errorf("%s: simulated noise %s and %s, want %s and %s: %+v", tt.name, a, b, tt.spinUp, want, sim.Responses)
			}
			// The default mean is where the noise is 1.5 % of it, as of a plan that states that noise.
			if m := sim.Responses[0].Mean; !strings.Contains(bench, "0.9") && math.Abs(m/(0.7/0.015)-1) > 1e-12 {
				t.Errorf("%s: mean %v, want %v", tt.name, m, 0.7/0.015)
			}
		}
	}
}

// rounded is an amount to nine digits: the way through logs costs the last one.
func rounded(a design.Amount) string {
	a.Value = math.Round(a.Value*1e9) / 1e9
	return a.String()
}
