//go:build slow

package verdict

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
)

// grown is a campaign of blocks that hold each of some levels twice, in which no level
// differs: its first blocks, with the noise of its seed.
func grown(levels, blocks int, seed uint64) Data {
	rng := rand.New(rand.NewPCG(seed, 11))
	f, pack := linmod.Factor{Name: "prop"}, linmod.Factor{Name: "pack"}
	for l := range levels {
		f.Levels = append(f.Levels, fmt.Sprint(l))
	}
	values := &decimal.Column{}
	for b := range blocks {
		pack.Levels = append(pack.Levels, fmt.Sprint(b))
		for range 2 {
			for l := range levels {
				f.Code, pack.Code = append(f.Code, int32(l)), append(pack.Code, int32(b))
				if err := values.Append(fmt.Appendf(nil, "%.6f", 100+rng.NormFloat64())); err != nil {
					panic(err)
				}
			}
		}
	}
	return Data{Treatments: []linmod.Factor{f}, Blocks: []linmod.Factor{pack}, Responses: []Measured{{Name: "thrust", Scale: Raw, Values: values}}}
}

// TestLooksKeepAlpha takes three looks at 20,000 campaigns in which nothing differs, after
// two, four and six packs, and counts those in which any of them calls any comparison
// different. Due is 5 %; the significance-level approach and dependent comparisons
// may cost a tenth of it. Beside it: the same looks at the level of a single one.
func TestLooksKeepAlpha(t *testing.T) {
	const campaigns, alpha = 20_000, 0.05
	for _, levels := range []int{2, 4} {
		for _, spending := range []power.Spending{power.OBrienFleming, power.Pocock} {
			var planned, naive, next atomic.Int64
			var running sync.WaitGroup
			for range runtime.GOMAXPROCS(0) {
				running.Go(func() {
					for seed := next.Add(1); seed <= campaigns; seed = next.Add(1) {
						var fractions []float64
						found, cried := false, false
						for _, blocks := range []int{2, 4, 6} {
							fractions = append(fractions, float64(blocks)/6)
							df := float64(6*2*levels - 6 - (levels - 1))
							v, err := Analyse(context.Background(), grown(levels, blocks, uint64(seed)), Request{Looks: &Stage{Spending: spending, Of: 3, Fractions: fractions, DF: df}})
							if err != nil {
								panic(err)
							}
							for _, c := range v.Responses[0].Comparisons {
								found = found || clearOfZero(c)
								cried = cried || c.PAdjusted < alpha
							}
						}
						if found {
							planned.Add(1)
						}
						if cried {
							naive.Add(1)
						}
					}
				})
			}
			running.Wait()
			rate := float64(planned.Load()) / campaigns
			se := math.Sqrt(alpha * (1 - alpha) / campaigns)
			t.Logf("%d levels, spending %d: false alarms %.2f %% ± %.2f, by judging each look as the only one %.2f %%", levels, spending, 100*rate, 100*se, 100*float64(naive.Load())/campaigns)
			if rate > 1.1*alpha+3*se || rate < 0.9*alpha-3*se {
				t.Errorf("%d levels, spending %d: false alarms %.4f, want %.2f", levels, spending, rate, alpha)
			}
		}
	}
}
