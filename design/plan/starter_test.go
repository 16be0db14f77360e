package plan_test

import (
	"regexp"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func answers() plan.Answers {
	return plan.Answers{
		Title:     "Field weakening",
		Scope:     "pod thruster no. 3",
		Factors:   []plan.FactorAnswer{{Name: "weakening", Unit: "A", Levels: []string{"0", "7.50"}}},
		Block:     design.Block{Name: "pack", Count: 4, Replicates: 2},
		Responses: []plan.ResponseAnswer{{Name: "spin_up", Unit: "ms", Better: "lower"}},
	}
}

// Every key that the starter holds back takes effect when its "#" is taken away.
func TestStarterOptions(t *testing.T) {
	data, err := plan.Starter(answers())
	if err != nil {
		t.Fatal(err)
	}
	all := regexp.MustCompile(`(?m)^#([^ \n])`).ReplaceAllString(string(data), "$1")
	c, err := plan.Parse("campaign.toml", []byte(all))
	if err != nil {
		t.Fatalf("%v\n%s", err, all)
	}
	if c.Factors[0].Baseline != "0" || !c.Responses[0].Margin.Set || !c.Responses[0].Noise.Set || c.Readings[1].High == nil || c.Budget == nil || c.Budget.Supply == nil {
		t.Errorf("a key stayed without effect: %s", c.Canonical())
	}
	for _, caution := range design.Cautions() {
		if !strings.Contains(string(data), "\n# "+caution+"\n") {
			t.Errorf("the starter does not say: %s", caution)
		}
	}
	for i, line := range strings.Split(string(data), "\n") {
		if n := len([]rune(line)); n > 120 {
			t.Errorf("line %d has %d characters", i+1, n)
		}
	}
}

func TestStarterRefusesWithoutPlaces(t *testing.T) {
	a := answers()
	a.Factors[0].Levels = []string{"0"}
	a.Factors[0].Baseline = "4"
	a.Responses[0].Better = "smaller"
	a.Block.Count = 0
	a.Title = "Field\x1bweakening"
	_, err := plan.Starter(a)
	want := []string{
		`title is "Field\x1bweakening", with characters that cannot be printed; keep it to one line of letters, digits and signs`,
		`levels has 1 of the at least 2 levels a factor needs; add a level, or take the factor out of the plan`,
		`count is 0; write a whole number, 1 or more`,
		`better is "smaller"; allowed: lower, higher`,
	}
	if err == nil {
		t.Fatal("no error")
	}
	if diff := cmp.Diff(want, strings.Split(err.Error(), "\n")); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if _, err := plan.Starter(plan.Answers{}); err == nil {
		t.Error("no answers gave a plan")
	}
}

// A plan of any answers reads back as they were given: texts with quotes, backslashes and signs of
// TOML's own among them.
func TestStarterReadsBack(t *testing.T) {
	texts := rapid.StringMatching(`[a-zµ"'\\#=\[\]{}%,.]([ -~é☃"\\]{0,20}[!-~é☃"\\])?`)
	names := rapid.StringMatching(`[a-eµ][a-z0-9_.-]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a := plan.Answers{
			Title: texts.Draw(t, "title"),
			Scope: texts.Draw(t, "scope"),
			Block: design.Block{Name: "pack", Count: rapid.IntRange(1, 5).Draw(t, "count"), Replicates: rapid.IntRange(2, 4).Draw(t, "replicates")},
			Drift: rapid.SampledFrom([]design.Drift{{}, {Model: "none"}, {Model: "quadratic"}, {Model: "linear"}}).Draw(t, "drift"),
			Alpha: rapid.SampledFrom([]float64{0, 0.1, 0.001}).Draw(t, "alpha"),
			Power: rapid.SampledFrom([]float64{0, 0.8, 0.99}).Draw(t, "power"),
		}
		used := rapid.SliceOfNDistinct(names, 3, 3, strings.ToLower).Draw(t, "names")
		f := plan.FactorAnswer{Name: "f" + used[0], Unit: "A", Levels: rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"0", "-1.50", "2e3", "+7"}), 2, 4, rapid.ID[string]).Draw(t, "levels")}
		g := plan.FactorAnswer{Name: "g" + used[1], Levels: rapid.SliceOfNDistinct(rapid.StringMatching(`[a-zé"'\\#]{1,6}`), 2, 3, rapid.ID[string]).Draw(t, "texts")}
		g.Baseline = g.Levels[1]
		a.Factors = []plan.FactorAnswer{f, g}
		a.Responses = []plan.ResponseAnswer{{Name: "r" + used[2], Unit: texts.Filter(func(s string) bool { return len(s) <= 20 }).Draw(t, "unit"), Better: "higher",
			Margin: rapid.SampledFrom([]string{"", "2%", "0.07 %", "12.5"}).Draw(t, "margin")}}
		data, err := plan.Starter(a)
		if err != nil {
			t.Fatal(err)
		}
		c, err := plan.Parse("campaign.toml", data)
		if err != nil {
			t.Fatal(err)
		}
		drift := a.Drift
		if drift.Model == "" {
			treatments := len(f.Levels) * len(g.Levels)
			drift = design.Drift{Model: design.ProposedDrift(treatments, a.Block.Count, treatments*a.Block.Replicates)}
		}
		margin := map[string]design.Amount{"": {}, "2%": {Set: true, Value: 0.02, Relative: true}, "0.07 %": {Set: true, Value: 0.0007, Relative: true}, "12.5": {Set: true, Value: 12.5}}[a.Responses[0].Margin]
		or := func(x, otherwise float64) float64 {
			if x == 0 {
				return otherwise
			}
			return x
		}
		got := []any{c.Title, c.Scope, c.Factors[0].Name, c.Factors[0].Levels, c.Factors[0].Numeric, c.Factors[1].Levels, c.Factors[1].Baseline, c.Block, c.Drift,
			c.Responses[0].Name, c.Responses[0].Unit, c.Responses[0].Margin, c.Analysis.Alpha, c.Analysis.Power}
		want := []any{a.Title, a.Scope, f.Name, f.Levels, true, g.Levels, g.Baseline, a.Block, drift,
			a.Responses[0].Name, a.Responses[0].Unit, margin, or(a.Alpha, 0.05), or(a.Power, 0.9)}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("(-want +got):\n%s\n%s", diff, data)
		}
	})
}
