package verdict

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// partsCase is a campaign of testdata/parts.json.
type partsCase struct {
	Name                              string
	Y, Position                       []float64
	Drift, Interactions               bool
	Treatments, Blocks, Parts, Random []string
	Interplay                         []string
	Factors                           []linmod.Factor
	Components                        []struct {
		Name   string
		SD     float64
		Limits [2]any `json:"limits95"`
	}
	Reproducibility float64
	Difference      *struct {
		Factor string
		SE     float64
	}
	Crossing *struct{ F, DF1, DF2, P float64 }
	Sample   *struct {
		F, DF1, DF2, P float64
		Alike, Of      int
	}
}

func partsCases(t *testing.T) []partsCase {
	t.Helper()
	text, err := os.ReadFile("testdata/parts.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []partsCase
	if err := json.Unmarshal(text, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

// factor is one of the case's factors, "a:b" for a combination.
func (c *partsCase) factor(name string) linmod.Factor {
	var parts []linmod.Factor
	for _, p := range strings.Split(name, ":") {
		parts = append(parts, c.Factors[slices.IndexFunc(c.Factors, func(f linmod.Factor) bool { return f.Name == p })])
	}
	if len(parts) == 1 {
		return parts[0]
	}
	return mixed.Crossed(parts...)
}

func (c *partsCase) factors(names []string) []linmod.Factor {
	var out []linmod.Factor
	for _, n := range names {
		out = append(out, c.factor(n))
	}
	return out
}

// data is the case as a question.
func (c *partsCase) data(t *testing.T) (Data, Request) {
	t.Helper()
	var y decimal.Column
	for _, v := range c.Y {
		if err := y.Append(fmt.Appendf(nil, "%.3f", v)); err != nil {
			t.Fatal(err)
		}
	}
	d := Data{Treatments: c.factors(c.Treatments), Blocks: c.factors(c.Blocks), Parts: c.factors(c.Parts), Random: c.factors(c.Random), Interplay: c.factors(c.Interplay),
		Responses: []Measured{{Name: "thrust", Better: "higher", Scale: Raw, Values: &y}}}
	if c.Drift {
		d.Covariates = []linmod.Covariate{{Name: "position", Value: c.Position}}
	}
	return d, Request{Interactions: c.Interactions}
}

// TestNoiseInParts holds the noise of campaigns in its parts, whatever is random in the comparisons, against REML by
// dense matrices in R, which lme4 agrees with (testdata/parts.R): components to 6 digits, profile limits to 5. The test of
// treatments by blocks is that of R's lm, that with the blocks as a sample pbkrtest's and emmeans's.
func TestNoiseInParts(t *testing.T) {
	samples, differences := 0, 0
	for _, c := range partsCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			d, q := c.data(t)
			v, err := Analyse(context.Background(), d, q)
			if err != nil {
				t.Fatal(err)
			}
			r := v.Responses[0]
			near := func(what string, got Number, want, tolerance float64) {
				t.Helper()
				if !(math.Abs(float64(got)-want) <= tolerance*max(0.01, math.Abs(want))) {
					t.Errorf("%s = %.9g, want %.9g", what, float64(got), want)
				}
			}
			if len(r.Noise.Components) != len(c.Components) {
				t.Fatalf("%d parts %+v, want %d", len(r.Noise.Components), r.Noise.Components, len(c.Components))
			}
			total := 0.0
			for _, want := range c.Components {
				total += want.SD * want.SD
			}
			for _, want := range c.Components {
				name := strings.ReplaceAll(want.Name, ":", times)
				if name == "residual" {
					name = "run"
				}
				k := slices.IndexFunc(r.Noise.Components, func(p Component) bool { return p.Name == name })
				if k < 0 {
					t.Errorf("no part %q among %+v", name, r.Noise.Components)
					continue
				}
				got := r.Noise.Components[k]
				near(name, got.SD, want.SD, 1e-6)
				near("share of "+name, got.Share, want.SD*want.SD/total, 1e-5)
				if name == "run" && got.SD == r.Noise.SD {
					near("lower limit of "+name, got.Low, float64(r.Noise.Low), 0) // by chi-squared, see
					near("upper limit of "+name, got.High, float64(r.Noise.High), 0)
					continue
				}
				near("lower limit of "+name, got.Low, want.Limits[0].(float64), 1e-5)
				near("upper limit of "+name, got.High, want.Limits[1].(float64), 1e-5)
			}
			near("reproducibility", r.Noise.Reproducibility, c.Reproducibility, 1e-6)
			if c.Difference != nil {
				i := slices.IndexFunc(r.Noise.Differences, func(d Difference) bool { return inR(d.Factors) == c.Difference.Factor })
				if i < 0 {
					t.Fatalf("no word on what %s is judged by: %+v", c.Difference.Factor, r.Noise.Differences)
				}
				near("standard error of a difference in "+c.Difference.Factor, r.Noise.Differences[i].SE, c.Difference.SE, 1e-6)
				differences++
			}
			k := slices.IndexFunc(r.Checks, func(k Check) bool { return k.Name == CrossingCheck+"pack" })
			if c.Crossing == nil {
				if k >= 0 {
					t.Errorf("said of treatments by packs, where runs are not repeated in one: %+v", r.Checks[k])
				}
				return
			}
			if k < 0 {
				t.Fatalf("nothing said of treatments by packs: %+v", r.Checks)
			}
			near("F of treatments by packs", r.Checks[k].Statistic, c.Crossing.F, 1e-8)
			near("p of treatments by packs", r.Checks[k].P, c.Crossing.P, 1e-8)
			flag := c.Crossing.P < 0.01 && len(c.Interplay) == 0 // motors that disagree count it in
			if r.Checks[k].Flag != flag {
				t.Errorf("flagged %v at p = %v", r.Checks[k].Flag, c.Crossing.P)
			}
			i := slices.IndexFunc(r.Alternatives, func(a Alternative) bool { return a.Name == "packs as a sample" })
			if (i >= 0) != flag {
				t.Fatalf("alternatives %+v, flagged %v", r.Alternatives, flag)
			}
			if i >= 0 && c.Sample != nil {
				samples++
				a := r.Alternatives[i]
				near("F with packs as a sample", a.Statistic, c.Sample.F, 1e-6)
				near("df with packs as a sample", a.DF2, c.Sample.DF2, 1e-6)
				near("p with packs as a sample", a.P, c.Sample.P, 1e-5)
				if want := fmt.Sprintf("%d of %d comparisons are called alike", c.Sample.Alike, c.Sample.Of); a.Message != want || a.Survives != (c.Sample.Alike == c.Sample.Of) {
					t.Errorf("%q, survives %v; want %q", a.Message, a.Survives, want)
				}
			}
		})
	}
	if samples == 0 || differences == 0 {
		t.Errorf("%d cases have packs as a sample, %d tell what a difference is judged by", samples, differences)
	}
}

// TestPartsLeaveComparisonsAlone: what is random for the parts alone does not change a comparison.
func TestPartsLeaveComparisonsAlone(t *testing.T) {
	for _, c := range partsCases(t) {
		d, q := c.data(t)
		with, err := Analyse(context.Background(), d, q)
		if err != nil {
			t.Fatal(err)
		}
		d.Parts = nil
		without, err := Analyse(context.Background(), d, q)
		if err != nil {
			t.Fatal(err)
		}
		got, want := with.Responses[0], without.Responses[0]
		for _, pair := range [][2]any{{got.Comparisons, want.Comparisons}, {got.Means, want.Means}, {got.ANOVA, want.ANOVA}, {got.Noise.SD, want.Noise.SD}, {got.Overall, want.Overall}} {
			if a, b := fmt.Sprint(pair[0]), fmt.Sprint(pair[1]); a != b {
				t.Errorf("%s: with parts %s, without %s", c.Name, a, b)
			}
		}
	}
}

// TestAdvice: with shares of 1/2, 1/4 and 1/4 of 3 motors, 6 packs and 24 runs of each level, a fourth motor takes 1/4 of all of
// the variance away, a seventh pack 1/7 of the half that lies within motors, and as many runs on the same packs 1/7 of the last quarter.
func TestAdvice(t *testing.T) {
	part := func(item string, perLevel, share Number) DifferencePart {
		return DifferencePart{Name: item + ":weakening", Item: item, PerLevel: perLevel, Share: share}
	}
	run := func(share Number) DifferencePart {
		return DifferencePart{Name: "run", Item: "run", PerLevel: 24, Share: share}
	}
	plot := DifferencePart{Name: "whole plot", Item: "whole plot", PerLevel: 4, Share: 0.8}
	for _, tt := range []struct {
		parts []DifferencePart
		want  string
	}{
		{[]DifferencePart{part("motor", 3, 0.5), part("pack", 6, 0.25), run(0.25)},
			"50 % of the variance of a difference between levels of weakening is from motor to motor, 25 % from pack to pack: " +
				"1 more motor (16 runs) takes 25 % of it away, 1 more pack (8 runs) 7 %, as many runs more on the same packs 4 %"},
		{[]DifferencePart{part("motor", 3, 0), part("pack", 6, 0.75), run(0.25)},
			"75 % of the variance of a difference between levels of weakening is from pack to pack: 1 more pack (8 runs) takes 14 % of it away, as many runs more on the same packs 4 %"},
		{[]DifferencePart{plot, run(0.2)},
			"80 % of the variance of a difference between levels of weakening is from whole plot to whole plot: 1 more whole plot of each setting (12 runs) takes 20 % of it away, as many runs more on the same whole plots 4 %"},
		{[]DifferencePart{part("pack", 6, 0), run(1)},
			"nothing but run-to-run noise is seen in a difference between levels of weakening: 8 runs more, on the same packs or another, take 14 % of its variance away"},
	} {
		d := Difference{Factors: Factors{"weakening"}, Levels: 2, Parts: tt.parts}
		if got := d.advice(48, &Data{}); got != tt.want {
			t.Errorf("advice\n%s\nwant\n%s", got, tt.want)
		}
	}
}

// TestPartsOfAnyCampaign: whatever was lost and however blocks lie in specimens and sessions, the parts add up to the whole, lie within
// their intervals, and leave the comparisons alone.
func TestPartsOfAnyCampaign(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		levels, blocks := rapid.IntRange(2, 4).Draw(t, "levels"), rapid.IntRange(1, 6).Draw(t, "blocks")
		replicates, specimens, perSession := rapid.IntRange(1, 3).Draw(t, "replicates"), rapid.IntRange(1, 3).Draw(t, "specimens"), rapid.IntRange(1, 3).Draw(t, "blocks a session")
		factor := func(name string, n int) linmod.Factor {
			f := linmod.Factor{Name: name}
			for i := range n {
				f.Levels = append(f.Levels, fmt.Sprint(i))
			}
			return f
		}
		setting, pack, specimen, session := factor("setting", levels), factor("pack", blocks), factor("specimen", specimens), factor("session", (blocks-1)/perSession+1)
		var y decimal.Column
		spread := rapid.SampledFrom([]float64{0, 1, 100}).Draw(t, "spread of packs")
		for b := range blocks {
			for i := range levels * replicates {
				setting.Code, pack.Code = append(setting.Code, int32(i%levels)), append(pack.Code, int32(b))
				specimen.Code, session.Code = append(specimen.Code, int32(b%specimens)), append(session.Code, int32(b/perSession))
				if rapid.IntRange(0, 7).Draw(t, "lost") == 0 {
					y.AppendMissing()
				} else if err := y.Append(fmt.Appendf(nil, "%.2f", 50+spread*float64(b*b%5)+float64(rapid.IntRange(-200, 200).Draw(t, "noise"))/100)); err != nil {
					t.Fatal(err)
				}
			}
		}
		d := Data{Treatments: []linmod.Factor{setting}, Blocks: []linmod.Factor{pack}, Responses: []Measured{{Name: "y", Scale: Raw, Values: &y}}}
		if specimens > 1 && rapid.Bool().Draw(t, "interplay") {
			d.Interplay = []linmod.Factor{mixed.Crossed(specimen, setting)}
		}
		without, err := Analyse(context.Background(), d, Request{})
		if err != nil {
			t.Fatal(err)
		}
		d.Parts = []linmod.Factor{session, specimen, pack}
		with, err := Analyse(context.Background(), d, Request{})
		if err != nil {
			t.Fatal(err)
		}
		r := with.Responses[0]
		if got, want := fmt.Sprint(r.Comparisons, r.Noise.SD), fmt.Sprint(without.Responses[0].Comparisons, without.Responses[0].Noise.SD); got != want {
			t.Fatalf("comparisons %s, without the parts %s", got, want)
		}
		total := Number(0)
		for _, c := range r.Noise.Components {
			total += c.Share
			if !(c.SD >= 0 && c.Share >= 0) || c.Low.Known() && c.Low > c.SD*(1+1e-9) || c.High.Known() && c.High < c.SD*(1-1e-9) {
				t.Errorf("part %+v", c)
			}
		}
		if n := len(r.Noise.Components); n > 0 && math.Abs(float64(total)-1) > 1e-9 {
			t.Errorf("shares of %+v add up to %v", r.Noise.Components, total)
		}
		for _, d := range r.Noise.Differences {
			total := Number(0)
			for _, p := range d.Parts {
				total += p.Share
			}
			if math.Abs(float64(total)-1) > 1e-9 || !d.SE.Known() || d.Advice == "" || strings.Contains(d.Advice, "NaN") {
				t.Errorf("difference %+v", d)
			}
		}
	})
}

// TestRandomFactorThatAnswers: of Machines, which R's nlme ships, workers are random and do not do the same on all
// machines. The F test is R's anova of lm's; with their interplay random the layout is balanced, so that machines are judged by
// the mean square of workers by machines, on its 10 degrees of freedom.
func TestRandomFactorThatAnswers(t *testing.T) {
	columns := readColumns(t, filepath.Join(referenceDir, "mixed", "Machines.csv"))
	var c referenceCase
	c.Request.Response, c.Request.Treatments = "score", []string{"Machine"}
	d := dataFor(t, columns, c)
	d.Random = []linmod.Factor{factorOf("Worker", columns["Worker"])}
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	r := v.Responses[0]
	k := slices.IndexFunc(r.Checks, func(k Check) bool { return k.Name == CrossingCheck+"Worker" })
	if k < 0 || !r.Checks[k].Flag || math.Abs(float64(r.Checks[k].Statistic)/46.1298217505-1) > 1e-9 || !strings.Contains(r.Checks[k].Message, "the comparisons take them to be") {
		t.Fatalf("checks %+v", r.Checks)
	}
	i := slices.IndexFunc(r.Alternatives, func(a Alternative) bool { return a.Name == "Workers as a sample" })
	if i < 0 || math.Abs(float64(r.Alternatives[i].Statistic)/20.5760829641-1) > 1e-6 || math.Abs(float64(r.Alternatives[i].DF2)-10) > 1e-6 {
		t.Fatalf("alternatives %+v", r.Alternatives)
	}
}
