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

// TestRandomisationKeepsAlpha draws campaigns again in which no level differs, 20,000 of complete packs
// and 2,000 of incomplete ones, whose random factors take longer to fit, on a bench that the model does
// not describe: exponential noise, a drift that jumps in the middle of each pack, and later packs further
// up. The randomisation test, with 199 fresh draws, has to keep 5 %: overall, and, close to it, that any
// of the comparisons is called different, one by its interval and by its p-value alike.
func TestRandomisationKeepsAlpha(t *testing.T) {
	const head = "title = \"Props\"\nscope = \"pod thruster no. 3\"\n[[response]]\nname = \"thrust\"\nbetter = \"higher\"\nmargin = 2\n"
	for _, c := range []struct {
		name      string
		campaigns int64
		plan      string
	}{
		{"complete packs", 20_000, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\"]\n[block]\nname = \"pack\"\ncount = 3\nreplicates = 2\n"},
		{"packs of two, two a day", 2_000, "[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\", \"C\", \"D\"]\n[block]\nname = \"charge\"\ncount = 12\nruns = 2\n" +
			"[session]\nname = \"day\"\nblocks = 2\n[items]\nname = \"pack\"\nlabels = [\"P1\", \"P2\"]\n[drift]\nmodel = \"none\"\n"},
	} {
		t.Run(c.name, func(t *testing.T) { keepsAlpha(t, head+c.plan, c.campaigns) })
	}
}

func keepsAlpha(t *testing.T, text string, campaigns int64) {
	const draws, alpha = 199, 0.05
	plan, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	var overall, family, model, next atomic.Int64
	var running sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		running.Go(func() {
			for seed := next.Add(1); seed <= campaigns; seed = next.Add(1) {
				r := jumping(plan, uint64(seed), draws)
				if r.Randomise.P <= alpha {
					overall.Add(1)
				}
				if r.Overall.P <= alpha {
					model.Add(1)
				}
				if slices.ContainsFunc(r.Comparisons, func(c verdict.Comparison) bool { return c.PRandom <= alpha }) {
					family.Add(1)
				}
			}
		})
	}
	running.Wait()
	se := math.Sqrt(alpha * (1 - alpha) / float64(campaigns))
	rate := func(n *atomic.Int64) float64 { return float64(n.Load()) / float64(campaigns) }
	t.Logf("false alarms ± %.2f: overall %.2f %%, any comparison %.2f %%, F test %.2f %%", 100*se, 100*rate(&overall), 100*rate(&family), 100*rate(&model))
	if r := rate(&overall); math.Abs(r-alpha) > 3.5*se {
		t.Errorf("overall: %.4f, want %.2f ± %.4f", r, alpha, se)
	}
	if r := rate(&family); math.Abs(r-alpha) > 0.1*alpha+3.5*se {
		t.Errorf("any comparison: %.4f, want %.2f or close to it", r, alpha)
	}
}

// jumping is the verdict on a campaign of a plan, drawn from a seed, in which nothing differs.
func jumping(plan *design.Plan, seed uint64, draws int) *verdict.Response {
	drawn, err := order.Draw(sheet.OrderPlan(plan), seed)
	if err != nil {
		panic(err)
	}
	rng := rand.New(rand.NewPCG(seed, 3))
	s := sheet.Blank(plan, drawn)
	for i := range s.Runs {
		r := &s.Runs[i]
		v := 100 + 5*rng.ExpFloat64() + float64(r.Block*r.Block)
		if r.Position > plan.RunsPerBlock()/2 {
			v += 20
		}
		r.Values[0], r.Status = fmt.Sprintf("%.4f", v), sheet.OK
	}
	v, err := VerdictOver(context.Background(), s, draws)
	if err != nil {
		panic(err)
	}
	return &v.Responses[0]
}
