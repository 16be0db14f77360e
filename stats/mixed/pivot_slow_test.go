//go:build slow

package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/parallel"
)

// TestPivotKeepsAlphaWithLostRuns counts false alarms among all combinations with a sixth of the runs lost, by pivots and by Kenward and
// Roger's degrees of freedom with Tukey's law, from the fit of each campaign. Each campaign loses other runs.
func TestPivotKeepsAlphaWithLostRuns(t *testing.T) {
	const campaigns, parts, alpha = 20_000, 8, 0.05
	t.Log("| H, T, b, n; whole plots vary by | campaigns | any false alarm | Kenward and Roger |")
	for _, l := range []plotLayout{
		{hard: 2, easy: 3, blocks: 3, runs: 2, sd: 1, lost: 1. / 6},
		{hard: 3, easy: 2, blocks: 4, runs: 2, sd: 0, lost: 1. / 6},
		{hard: 2, easy: 4, blocks: 4, runs: 1, sd: 2, lost: 1. / 6},
	} {
		var judged, alarms, plain [parts]int
		var running parallel.Group
		for part := range parts {
			running.Go(func() {
				rng := rand.New(rand.NewPCG(uint64(part), 9))
				for judged[part] < campaigns/parts {
					m, y := l.make(rng)
					r, err := Fit(m, y)
					if err != nil {
						continue
					}
					means, err := r.Means(0, 1)
					if err != nil {
						continue
					}
					p, ok := means.Pivot()
					if !ok {
						continue
					}
					of, rows := pairsOf(means, p)
					if len(of) == 0 {
						continue
					}
					judged[part]++
					e := means.Contrasts(rows)
					critical := p.Law(of, false, law.FewPivotPoints).Critical(alpha)
					pivot, kenwardRoger := false, false
					for k, c := range of {
						d := math.Abs(e.Value[k])
						pivot = pivot || d > critical[c.In]*c.SE
						kenwardRoger = kenwardRoger || compare.Pairs{Levels: l.hard * l.easy}.Adjust(d/e.SE(k), e.DF[k]) < alpha
					}
					if pivot {
						alarms[part]++
					}
					if kenwardRoger {
						plain[part]++
					}
				}
			})
		}
		running.Wait()
		sum := func(of [parts]int) (n int) {
			for _, v := range of {
				n += v
			}
			return n
		}
		n := float64(sum(judged))
		rate := float64(sum(alarms)) / n
		t.Logf("| %d, %d, %d, %d; %v | %.0f | %.2f %% | %.2f %% |", l.hard, l.easy, l.blocks, l.runs, l.sd, n, 100*rate, 100*float64(sum(plain))/n)
		if due := alpha + 4*math.Sqrt(alpha*(1-alpha)/n); rate > due {
			t.Errorf("%s: false alarms in %.2f %% of campaigns", fmt.Sprint(l), 100*rate)
		}
	}
}
