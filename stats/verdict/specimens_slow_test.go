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
	"fairrun/stats/mixed"
)

// ofSpecimens is a campaign of three levels on some specimens, two packs on each, two runs of each level in a pack. Specimens
// and packs differ ten times as much as runs do; how differently specimens answer has the standard deviation given,
// over the noise between runs. On average over specimens no level differs. Each run is lost with the chance given.
func ofSpecimens(specimens int, interplay, lost float64, seed uint64) Data {
	const levels, packs, replicates = 3, 2, 2
	rng := rand.New(rand.NewPCG(seed, 23))
	setting, pack, specimen := linmod.Factor{Name: "setting"}, linmod.Factor{Name: "pack"}, linmod.Factor{Name: "motor"}
	for l := range levels {
		setting.Levels = append(setting.Levels, fmt.Sprint(l))
	}
	values := &decimal.Column{}
	for u := range specimens {
		specimen.Levels = append(specimen.Levels, fmt.Sprint(u))
		answer := make([]float64, levels)
		for l := range answer {
			answer[l] = interplay * rng.NormFloat64()
		}
		for range packs {
			pack.Levels = append(pack.Levels, fmt.Sprint(len(pack.Levels)))
			shift := 10 * rng.NormFloat64()
			for l := range levels {
				for range replicates {
					setting.Code, specimen.Code = append(setting.Code, int32(l)), append(specimen.Code, int32(u))
					pack.Code = append(pack.Code, int32(len(pack.Levels)-1))
					y := 100 + shift + answer[l] + rng.NormFloat64()
					if rng.Float64() < lost {
						values.AppendMissing()
					} else if err := values.Append(fmt.Appendf(nil, "%.6f", y)); err != nil {
						panic(err)
					}
				}
			}
		}
	}
	return Data{Treatments: []linmod.Factor{setting}, Blocks: []linmod.Factor{pack}, Interplay: []linmod.Factor{mixed.Nested(specimen, setting)},
		Responses: []Measured{{Name: "thrust", Scale: Raw, Values: values}}}
}

// TestFewSpecimensKeepAlpha judges 2,000 campaigns on two to four specimens in which no level differs on average over specimens,
// balanced and with a sixth of the runs lost, and counts those in which no interval misses zero: simultaneous
// coverage, which should be 95 % or more. Where specimens answer almost alike it is more: the interplay is then often estimated as
// zero, and is given the degrees of freedom of so few specimens all the same.
func TestFewSpecimensKeepAlpha(t *testing.T) {
	const campaigns, due = 2_000, 0.95
	se := math.Sqrt(due * (1 - due) / campaigns)
	for _, lost := range []float64{0, 1. / 6} {
		for _, specimens := range []int{2, 3, 4} {
			for _, interplay := range []float64{0, 0.5, 1, 2} {
				var held, plain, next atomic.Int64
				var running sync.WaitGroup
				for range runtime.GOMAXPROCS(0) {
					running.Go(func() {
						for seed := next.Add(1); seed <= campaigns; seed = next.Add(1) {
							v, err := Analyse(context.Background(), ofSpecimens(specimens, interplay, lost, uint64(seed)), Request{})
							if err != nil {
								panic(err)
							}
							r := v.Responses[0]
							if r.Model.Method != "REML" {
								plain.Add(1)
							}
							all := true
							for _, c := range r.Comparisons {
								all = all && !clearOfZero(c)
							}
							if all {
								held.Add(1)
							}
						}
					})
				}
				running.Wait()
				cover := float64(held.Load()) / campaigns
				t.Logf("%d specimens, interplay %.1f of the noise, %.0f %% of runs lost: simultaneous coverage %.2f %% ± %.2f; %d taken as blocks", specimens, interplay, 100*lost, 100*cover, 100*se, plain.Load())
				if cover < due-0.005-3*se {
					t.Errorf("%d specimens, interplay %.1f, %.2f lost: coverage %.4f, want %.2f", specimens, interplay, lost, cover, due)
				}
			}
		}
	}
}
