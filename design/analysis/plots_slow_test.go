//go:build slow

package analysis

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// whole plots of two propellers in each of four packs, three speed controllers twice in each.
const plotPlan = `title = "Props"
scope = "pod thruster no. 3"
interactions = true
[[factor]]
name = "prop"
levels = ["p", "q"]
hard_to_change = true
[[factor]]
name = "controller"
levels = ["A", "B", "C"]
[block]
name = "pack"
count = 4
replicates = 2
[session]
name = "day"
blocks = 2
[[response]]
name = "thrust"
better = "higher"
margin = 2
`

// TestWholePlotsKeepAlpha draws campaigns with whole plots again, with run noise of 1 %. No pair that
// is alike may be called different by the randomisation test more often than in 5 of 100, whatever the
// other treatments do; differences within whole plots are to be found as often as by the model, or nearly.
func TestWholePlotsKeepAlpha(t *testing.T) {
	const alpha = 0.05
	plan, err := plan.Parse("campaign.toml", []byte(plotPlan))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name       string
		campaigns  int64
		sd         float64            // between whole plots
		effect     map[string]float64 // of levels
		real       []string           // pairs within whole plots that differ
		null       []string           // pairs that do not; none: no pair does
		leastPower float64            // of the model's
	}{
		{"nothing differs", 500, 2, nil, nil, nil, 0},
		{"a pair across whole plots is alike", 200, 2, map[string]float64{"B": 5, "q": 5}, nil, []string{"q A", "p B"}, 0},
		{"within whole plots", 200, 4, map[string]float64{"B": 2}, []string{"p B", "p A"}, []string{"p C", "p A"}, 0.9},
	} {
		t.Run(c.name, func(t *testing.T) {
			var overall, null, found, model, modelNull, next atomic.Int64
			var running sync.WaitGroup
			for range runtime.GOMAXPROCS(0) {
				running.Go(func() {
					for seed := next.Add(1); seed <= c.campaigns; seed = next.Add(1) {
						r := plotted(plan, uint64(seed), c.sd, c.effect)
						count := func(n *atomic.Int64, yes bool) {
							if yes {
								n.Add(1)
							}
						}
						called := func(pair []string, p func(verdict.Comparison) verdict.Number) bool {
							return slices.ContainsFunc(r.Comparisons, func(d verdict.Comparison) bool {
								is := pair == nil || slices.Contains(pair, d.Level) && slices.Contains(pair, d.Against)
								return is && p(d) <= alpha
							})
						}
						lot := func(d verdict.Comparison) verdict.Number { return d.PRandom }
						own := func(d verdict.Comparison) verdict.Number { return d.PAdjusted }
						count(&overall, r.Randomise.P <= alpha)
						count(&null, called(c.null, lot))
						count(&modelNull, called(c.null, own))
						if c.real != nil {
							count(&found, called(c.real, lot))
							count(&model, called(c.real, own))
						}
					}
				})
			}
			running.Wait()
			rate := func(n *atomic.Int64) float64 { return float64(n.Load()) / float64(c.campaigns) }
			se := math.Sqrt(alpha * (1 - alpha) / float64(c.campaigns))
			t.Logf("all treatments %.1f %%; pairs alike: randomised %.1f %%, model %.1f %%; pair that differs: randomised %.1f %%, model %.1f %%",
				100*rate(&overall), 100*rate(&null), 100*rate(&modelNull), 100*rate(&found), 100*rate(&model))
			if r := rate(&null); r > alpha+3.5*se {
				t.Errorf("pairs alike are called different in %.3f", r)
			}
			if r := rate(&overall); c.effect == nil && r > alpha+3.5*se {
				t.Errorf("all treatments: %.3f", r)
			}
			if rate(&found) < c.leastPower*rate(&model) {
				t.Errorf("found %.3f, by the model %.3f", rate(&found), rate(&model))
			}
		})
	}
}

// plotted is the verdict on a campaign with whole plots, drawn from a seed.
func plotted(plan *design.Plan, seed uint64, sd float64, effect map[string]float64) *verdict.Response {
	drawn, err := order.Draw(sheet.OrderPlan(plan), seed)
	if err != nil {
		panic(err)
	}
	rng := rand.New(rand.NewPCG(seed, 3))
	s := sheet.Blank(plan, drawn)
	plots := map[int]float64{}
	for i := range s.Runs {
		r := &s.Runs[i]
		if _, known := plots[r.WholePlot]; !known {
			plots[r.WholePlot] = sd * rng.NormFloat64()
		}
		v := 100 + 3*float64(r.Block%2) + plots[r.WholePlot] + rng.NormFloat64()
		for _, level := range r.Levels {
			v += effect[level]
		}
		r.Values[0], r.Status = fmt.Sprintf("%.4f", v), sheet.OK
	}
	v, err := VerdictOver(context.Background(), s, 999)
	if err != nil {
		panic(err)
	}
	return &v.Responses[0]
}
