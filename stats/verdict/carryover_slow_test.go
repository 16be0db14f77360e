//go:build slow

package verdict

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairrun/stats/linmod"
)

// heatedCampaign is four settings two noises apart in Williams squares, of which the next run takes over a share; packs answer
// settings differently by so many noises, and some runs are lost.
type heatedCampaign struct {
	packs, replicates      int
	share, interplay, lost float64
}

// data are a random campaign; true are its direct effects.
func (c heatedCampaign) data(rng *rand.Rand) Data {
	const levels, apart = 4, 2.0
	square := williams(levels, 1)
	f := linmod.Factor{Name: "level", Levels: []string{"A", "B", "C", "D"}}
	length := levels * c.replicates
	var values strings.Builder
	line := linmod.Covariate{Name: "position"}
	for pack := range c.packs {
		var own [levels]float64
		for k := range own {
			own[k] = c.interplay * rng.NormFloat64()
		}
		rename := rng.Perm(levels)
		before := -1
		for at := range length {
			row := (pack + at/levels*(1+pack)) % levels
			now := rename[square[row*levels+at%levels]]
			y := apart*float64(now) + own[now] + 0.3*float64(at) + rng.NormFloat64()
			if before >= 0 {
				y += c.share * apart * float64(before)
			}
			before = now
			f.Code = append(f.Code, int32(now))
			line.Value = append(line.Value, float64(at))
			if rng.Float64() < c.lost {
				values.WriteString("- ")
			} else {
				fmt.Fprintf(&values, "%.6f ", y)
			}
		}
	}
	d := Data{Treatments: []linmod.Factor{f}, Blocks: []linmod.Factor{cycled("pack", c.packs, length, len(f.Code))}, Covariates: []linmod.Covariate{line}, Sample: []string{"pack"}}
	d.Responses = []Measured{{Name: "y", Values: column(values.String())}}
	return d
}

// With carry-over in the model all direct intervals together hold the truth in 95 % of campaigns, and so do the permanent ones, whatever is
// carried over; without it they miss it. docs/honesty.md shows the table.
func TestCarryOverHoldsItsLevel(t *testing.T) {
	const campaigns = 20000
	for _, c := range []heatedCampaign{
		{8, 1, 0, 0, 0}, {8, 1, 0.4, 0, 0}, {8, 1, 0.4, 0.5, 0}, {8, 1, 0.4, 0, 0.15},
		{4, 2, 0, 0.5, 0}, {4, 2, 0.4, 0.5, 0}, {4, 2, 0.4, 0.5, 0.15},
	} {
		var missed, permanent, plain, flagged, made float64
		rng := rand.New(rand.NewPCG(11, uint64(c.packs)))
		for range campaigns {
			d := c.data(rng)
			with, err := Analyse(t.Context(), d, Request{CarryOver: true})
			if err != nil {
				t.Fatal(err)
			}
			without, err := Analyse(t.Context(), d, Request{})
			if err != nil {
				t.Fatal(err)
			}
			r := &with.Responses[0]
			if len(r.Comparisons) < 6 || !r.Comparisons[5].Low.Known() {
				continue
			}
			made++
			miss := func(list []Comparison) float64 {
				for _, v := range list {
					if truth := 2*float64(v.Level[0]-'A') - 2*float64(v.Against[0]-'A'); float64(v.Low) > truth || float64(v.High) < truth {
						return 1
					}
				}
				return 0
			}
			missed += miss(r.Comparisons)
			plain += miss(without.Responses[0].Comparisons)
			for _, v := range r.CarryOver.Differences {
				truth := (1 + c.share) * 2 * (float64(v.Level[0]) - float64(v.Against[0]))
				if float64(v.Low) > truth || float64(v.High) < truth {
					permanent++
					break
				}
			}
			for _, v := range without.Responses[0].Checks {
				if v.Name == linmod.CarryOverTerm && v.Flag {
					flagged++
				}
			}
		}
		share := func(n float64) float64 { return 100 * n / made }
		t.Logf("| %d × %d | %.1f | %.1f | %.0f %% | %.1f | %.1f | %.1f | %.1f |", c.packs, c.replicates, c.share, c.interplay, 100*c.lost, share(missed), share(permanent), share(plain), share(flagged))
		if se := math.Sqrt(5 * 95 / made); share(missed) > 5.3+3*se || share(permanent) > 5.3+3*se {
			t.Errorf("%+v: intervals together miss the truth in %.2f %% (direct) and %.2f %% (permanent)", c, share(missed), share(permanent))
		}
	}
}
