package size

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/design"
	"fairrun/design/internal/campaigntest"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

const sizedPlan = `title = "Props"
scope = "pod thruster no. 3"
interactions = %v
[[factor]]
name = "prop"
levels = ["A", "B", "C"]
hard_to_change = %v
[[factor]]
name = "weakening"
levels = [0, 4]
[block]
name = "session"
count = 4
replicates = 2
[drift]
model = "none"
[[response]]
name = "thrust"
better = "higher"
margin = 2
noise = 1
`

// Three settings a session, in whole plots of four runs. A level of the hard factor is
// judged by whole plots: in b sessions one of each level a session,
// standard error √(2(w² + 1/4)/b) with 3b − b − 2 degrees of freedom. The easy one by the runs within whole plots: in b
// sessions 6b runs of each level, standard error √(2/6b), and 12b runs less 3b whole
// plots less 1 leave 9b − 1 degrees of freedom. Two combinations of different settings
// have a variance of w² and 1/2 each, in b sessions: standard error √(2(w² + 1/2)/b), with
// the 3b − b − 2 degrees of freedom of the whole plots.
func TestPrecisionOfWholePlots(t *testing.T) {
	const spread = 0.7
	for b := 2; b <= 5; b++ {
		for _, s := range familiesOf(campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, true)), 1) {
			got := s.byBlocks(spread).At(b)
			want := power.Precision{SE: math.Sqrt(2 * (spread*spread + 0.25) / float64(b)), DF: float64(2*b - 2)}
			if s.name() == "weakening" {
				want = power.Precision{SE: math.Sqrt(2 / float64(6*b)), DF: float64(9*b - 1)}
			}
			if math.Abs(got.SE-want.SE) > 1e-15 || got.DF != want.DF {
				t.Errorf("%s in %d sessions: %+v, want %+v", s.name(), b, got, want)
			}
		}
		s := familiesOf(campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, true, true)), 1)[0]
		want := power.Precision{SE: math.Sqrt(2 * (spread*spread + 0.5) / float64(b)), DF: float64(2*b - 2)}
		if got := s.byBlocks(spread).At(b); math.Abs(got.SE-want.SE) > 1e-15 || got.DF != want.DF {
			t.Errorf("%s in %d sessions: %+v, want %+v", s.name(), b, got, want)
		}
	}
}

// What is needed is the smallest number that is enough, for every goal.
func TestSmallestEnough(t *testing.T) {
	for _, looks := range []string{"", "[analysis]\nlooks = 2\nspending = \"pocock\"\n"} {
		for _, hard := range []bool{false, true} {
			r, err := Ask{Blocks: 3}.Before(t.Context(), campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, hard)+looks))
			if err != nil {
				t.Fatal(err)
			}
			for _, z := range r.Responses[0].Sizes {
				s := familiesOf(campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, hard)+looks), 1)
				k := map[string]int{"prop": 0, "weakening": 1}[z.Factors.Term()]
				below := func(p *Point) Point {
					if s[k].design.Sample {
						s[k].design.Interplay = 0.5
					}
					return s[k].point(power.Target{Margin: 2, Noise: power.Scatter{SD: 1}, Power: 0.9}, s[k].byBlocks(1), p.Blocks-1, terms{})
				}
				if z.Needed == nil || !(z.Needed.Power >= 0.9) || z.Needed.Blocks > 1 && below(z.Needed).Power >= 0.9 {
					t.Errorf("hard %v, %v %q: %+v is not the smallest that finds the margin", hard, z.Factors, looks, z.Needed)
				}
				if z.Equal == nil || !(z.Equal.Equal >= 0.9) || z.Equal.Blocks > 1 && below(z.Equal).Equal >= 0.9 {
					t.Errorf("hard %v, %v %q: %+v is not the smallest that shows equality", hard, z.Factors, looks, z.Equal)
				}
				if z.Asked == nil || z.Asked.Blocks != 3 || !z.Asked.Detectable.Known() {
					t.Errorf("hard %v, %v: asked %+v, want 3 blocks", hard, z.Factors, z.Asked)
				}
			}
			if (looks == "") != (r.Looks == nil) || r.Looks != nil && !(r.Looks.Inflation > 1) || r.WholePlotNoise.Known() != hard {
				t.Errorf("hard %v, %q: looks %+v, whole plots %v", hard, looks, r.Looks, r.WholePlotNoise)
			}
		}
	}
}

// Two looks by Pocock-like spending take 10 % more runs than one at a power of 0.9
// (Jennison & Turnbull 2000, table 2.2 for Pocock's test itself: 1.100; from memory).
func TestLooksCostRuns(t *testing.T) {
	c := campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, false)+"[analysis]\nlooks = 2\nspending = \"pocock\"\n")
	if got := question.Inflation(c); math.Abs(got-1.10) > 0.015 {
		t.Errorf("two looks take %v times the runs, want about 1.10", got)
	}
}

// A pilot's noise takes the place of what the plan assumes, with its uncertainty; what is
// stated takes the place of both.
func TestNoiseFromAPilot(t *testing.T) {
	pilot := campaigntest.Sixty(t)
	v, err := judged(t.Context(), pilot)
	if err != nil {
		t.Fatal(err)
	}
	c := *pilot.Campaign
	r, err := Ask{Pilot: pilot, From: "pilot", Noise: map[string]design.Amount{"temp": {Set: true, Value: 3}}}.Before(t.Context(), &c)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range r.Responses {
		noise := float64(v.Responses[i].Noise.SD)
		if v.Responses[i].Scale == verdict.Log {
			noise = math.Expm1(noise)
		}
		if e.Name == "temp" {
			if e.Noise.Measured || e.Noise.SD != 3 || e.Sizes[0].Low != nil {
				t.Errorf("temp: noise %+v, want 3 as stated", e.Noise)
			}
			continue
		}
		if !e.Noise.Measured || math.Abs(float64(e.Noise.SD)/noise-1) > 1e-12 || e.Noise.DF != v.Responses[i].Noise.DF {
			t.Errorf("%s: noise %+v, want the pilot's %v", e.Name, e.Noise, noise)
		}
		if z := e.Sizes[0]; z.Needed != nil && (z.Low == nil || z.Low.Blocks > z.Needed.Blocks || z.High != nil && z.High.Blocks < z.Needed.Blocks) {
			t.Errorf("%s: %+v between %+v and %+v", e.Name, z.Needed, z.Low, z.High)
		}
	}
	if _, err := (Ask{Noise: map[string]design.Amount{"volume": {Set: true, Value: 3}}}).Before(t.Context(), &c); err == nil {
		t.Error("no error for the noise of a response that the plan does not have")
	}
}

// The noise of a pilot that was analysed as it is, in the terms of ratios, and the other
// way round: 5 of 500 is 1 %.
func TestPilotOnAnotherScale(t *testing.T) {
	raw := &verdict.Response{Scale: verdict.Raw, Noise: verdict.Noise{SD: 5}, Means: []verdict.Mean{{Estimate: 400}, {Estimate: 600}}}
	logs := &verdict.Response{Scale: verdict.Log, Noise: verdict.Noise{SD: 0.01}, Means: raw.Means}
	ratio := &design.Response{Scale: design.ScaleLog, Margin: design.Amount{Set: true, Value: 0.02, Relative: true}}
	share := &design.Response{Scale: design.ScaleRaw, Margin: ratio.Margin}
	unit := &design.Response{Scale: design.ScaleRaw, Margin: design.Amount{Set: true, Value: 10}}
	for _, tt := range []struct {
		pilot *verdict.Response
		plan  *design.Response
		want  float64
	}{
		{raw, unit, 5}, {raw, share, 0.01}, {raw, ratio, math.Sqrt(math.Log1p(0.0001))},
		{logs, unit, 5}, {logs, share, 0.01}, {logs, ratio, 0.01},
	} {
		if got := pilotNoise(tt.pilot, tt.plan, terms{log: tt.plan.Scale == design.ScaleLog}); math.Abs(got/tt.want-1) > 1e-12 {
			t.Errorf("pilot %s, plan %s with margin %v: %v, want %v", tt.pilot.Scale, tt.plan.Scale, tt.plan.Margin, got, tt.want)
		}
	}
}

// Nothing up to what can be afforded would do: then that is said, and what it reaches.
func TestNothingAffordable(t *testing.T) {
	c := campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, false))
	c.Responses[0].Noise.Value = 50
	r, err := Ask{Most: 10}.Before(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	for _, z := range r.Responses[0].Sizes {
		if z.Needed != nil || z.Settled != nil || z.Equal != nil || z.Most != 10 || len(z.Curve) == 0 {
			t.Errorf("%+v, want no number up to 10, and a curve", z)
		}
	}
	if r.Enough() {
		t.Error("it is said to be enough")
	}
}

// After results the whole plots that were measured tell how precise the campaign is. In a
// balanced one without drift that is what the plan promises for the spread measured, and
// as many sessions again halve the variance.
func TestWholePlotsAfterResults(t *testing.T) {
	c := campaigntest.Parsed(t, fmt.Sprintf(sizedPlan, false, true))
	drawn, err := sheet.NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	s := &sheet.Sheet{Campaign: c, Draw: &sheet.Draw{Order: *drawn, Draws: []sheet.Drawing{{Blocks: 4}}}}
	rng := rand.New(rand.NewPCG(1, 9))
	plot, setting, shift := 0, -1, 0.0
	for b, block := range drawn.Blocks {
		for i, k := range block {
			if drawn.Plan.WholePlots[k] != setting || i == 0 {
				setting, shift = drawn.Plan.WholePlots[k], 2*rng.NormFloat64()
				plot++
			}
			s.Runs = append(s.Runs, sheet.Run{Run: len(s.Runs) + 1, Block: b + 1, Position: i + 1, WholePlot: plot, Treatment: k, Levels: c.Treatments()[k].Levels,
				Values: []string{fmt.Sprintf("%.4f", 100+shift+rng.NormFloat64())}, Status: sheet.OK})
		}
	}
	v, err := judged(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	r := &v.Responses[0]
	spread := Ask{}.spread(&c.Responses[0], v)
	if !(spread > 0.5 && spread < 8) {
		t.Fatalf("spread %v of %+v; the whole plots were made to vary by 2, the runs by 1", spread, r.Noise.Components)
	}
	for _, f := range familiesOf(c, 1) {
		now := f.reached(r)
		want := f.byBlocks(spread).At(4)
		if math.Abs(now.SE/want.SE-1) > 1e-6 || math.Abs(now.DF-want.DF) > 1e-3 {
			t.Errorf("%s: standard error %v with %v degrees of freedom, the plan has %v and %v", f.name(), now.SE, now.DF, want.SE, want.DF)
		}
		f.done = 4
		more := f.moreBlocks(now).At(4)
		twice := f.byBlocks(spread).At(8)
		if math.Abs(more.SE/twice.SE-1) > 1e-6 {
			t.Errorf("%s after four more sessions: %+v, want %+v", f.name(), more, twice)
		}
	}
	after, err := Ask{}.After(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	if z := after.Responses[0].Sizes[0]; z.Factors.Term() != "prop" || z.Now.Blocks != 0 || !z.Now.Power.Known() {
		t.Errorf("%+v, want the chance as it stands of prop", z)
	}
}
