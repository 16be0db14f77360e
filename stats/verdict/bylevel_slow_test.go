//go:build slow

package verdict

import (
	"context"
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/power"
)

// TestNoiseByLevelHolds measures false alarms of the family of all pairs of four equal levels, and how often a true difference of two
// standard deviations between two quiet levels is shown, with levels that scatter alike and with one that scatters four times as
// much. The level is that of the family; power is compared with what package power counts.
func TestNoiseByLevelHolds(t *testing.T) {
	const campaigns = 4000
	for _, c := range []struct {
		name            string
		blocks, repeats int
		sample, own     bool
		wild            float64
		lowest, most    float64 // false alarms, per cent
	}{
		{"8 × 1 alike", 8, 1, true, true, 1, 3, 5.5},
		{"8 × 1, one level × 4", 8, 1, true, true, 4, 3, 5.5},
		{"4 × 2 alike, packs like these", 4, 2, true, true, 1, 3, 5.8},
		{"4 × 2, one level × 4, packs like these", 4, 2, true, true, 4, 3, 5.8},
		{"4 × 2 alike, these packs", 4, 2, false, true, 1, 3, 6.2},
		{"4 × 2, one level × 4, these packs", 4, 2, false, true, 4, 3, 6.2},
		{"8 × 1, one level × 4, common noise", 8, 1, true, false, 4, 8.5, 11.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(8, uint64(len(c.name))))
			level := linmod.Factor{Name: "level", Levels: []string{"0", "1", "2", "3"}}
			pack := linmod.Factor{Name: "pack"}
			for b := range c.blocks {
				pack.Levels = append(pack.Levels, strconv.Itoa(b))
				for k := range 4 * c.repeats {
					pack.Code, level.Code = append(pack.Code, int32(b)), append(level.Code, int32(k%4))
				}
			}
			d := Data{Treatments: []linmod.Factor{level}, Blocks: []linmod.Factor{pack}}
			if c.sample {
				d.Sample = []string{"pack"}
			}
			alarms, found := 0, 0
			for range campaigns {
				var equal, differ []string
				for _, k := range level.Code {
					v := rng.NormFloat64()
					if k == 3 {
						v *= c.wild
					}
					equal = append(equal, strconv.FormatFloat(v, 'g', -1, 64))
					if k == 1 {
						v += 2
					}
					differ = append(differ, strconv.FormatFloat(v, 'g', -1, 64))
				}
				d.Responses = []Measured{{Name: "equal", Values: decimals(t, equal)}, {Name: "differ", Values: decimals(t, differ)}}
				v, err := Analyse(context.Background(), d, Request{ByLevel: c.own})
				if err != nil {
					t.Fatal(err)
				}
				for _, m := range v.Responses[0].Comparisons {
					if clearOfZero(m) {
						alarms++
						break
					}
				}
				for _, m := range v.Responses[1].Comparisons {
					if m.Level == "1" && m.Against == "0" && clearOfZero(m) {
						found++
					}
				}
			}
			share := func(n int) float64 { return 100 * float64(n) / campaigns }
			t.Logf("%s: false alarms %.2f %%, found %.1f %%", c.name, share(alarms), share(found))
			if got := share(alarms); got < c.lowest || got > c.most {
				t.Errorf("false alarms %.2f %%, want %.1f to %.1f %%", got, c.lowest, c.most)
			}
			if !c.own {
				return
			}
			law := compare.Family(compare.Slices{Family: single, Count: 6})
			if !c.sample {
				law = compare.Pairs{Levels: 4}
			}
			design := power.Design{Treatments: 4, Blocks: c.blocks, Replicates: c.repeats, Sample: c.sample, ByLevel: true}
			promised, err := power.Test{Family: law, Alpha: 0.05}.Reach(power.Target{Margin: 2, Noise: power.Scatter{SD: 1}, Power: 0.9}, design.Precision())
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("promised %.1f %%", 100*promised.Power)
			if got := share(found); math.Abs(got-100*promised.Power) > 3 {
				t.Errorf("found %.1f %%, promised %.1f %%", got, 100*promised.Power)
			}
		})
	}
}
