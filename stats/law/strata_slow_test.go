//go:build slow

package law

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// TestPivotsKeepAlpha counts the campaigns in which any comparison of all combinations in whole plots is called different
// although none is, and those in which a difference of 3.5 standard errors is found across whole plots and within. Critical values are taken
// from a table over the ratio of mean squares.
func TestPivotsKeepAlpha(t *testing.T) {
	const campaigns, alpha = 100_000, 0.05
	t.Log("| H, T, b, n; whole plots vary by | any false alarm | across, found | within, found |")
	for _, c := range []struct {
		hard, easy, blocks, runs int
		sd                       []float64
	}{
		{2, 3, 3, 2, []float64{0, 1, 3}},
		{2, 2, 3, 1, []float64{0, 1, 3}},
		{4, 2, 3, 1, []float64{0, 1, 3}},
		{2, 3, 2, 2, []float64{0, 2}},
		{4, 4, 6, 1, []float64{0, 5}},
		{3, 2, 4, 1, []float64{0, 1, 3}},
		{2, 3, 8, 2, []float64{0, 1}},
		{2, 5, 4, 3, []float64{0, 1}},
	} {
		const nodes, lo, hi = 81, -8.0, 12.0
		var table [nodes][2]float64
		for k := range table {
			s, pairs := splitPlot(c.hard, c.easy, c.blocks, c.runs, math.Exp(lo+(hi-lo)*float64(k)/(nodes-1)), 1)
			table[k] = NewPivots(s, pairs, false, PivotPoints).Critical(alpha)
		}
		s, pairs := splitPlot(c.hard, c.easy, c.blocks, c.runs, 1, 1)
		between, within := make([]float64, len(pairs)), make([]float64, len(pairs)) // squares of the loads of each pair
		across, inside := -1, -1
		for k, p := range pairs {
			between[k], within[k] = math.Pow(s.SE(p.I, p.J, 0, 1/s.Runs[0]), 2), math.Pow(s.SE(p.I, p.J, 1, -1/s.Runs[0]), 2)
			switch {
			case p.J == 0 && p.I == c.easy:
				across = k
			case p.J == 0 && p.I == 1:
				inside = k
			}
		}
		for _, sd := range c.sd {
			rng := rand.New(rand.NewPCG(1, uint64(sd*10)))
			large := 1 + s.Runs[0]*sd*sd
			df1, df2 := float64(len(s.Square)), s.DF
			alarms, foundAcross, foundWithin := 0, 0, 0
			value := make([]float64, len(s.Within))
			var normal []float64
			for range campaigns {
				chi := func(df float64) (sum float64) {
					for range int(df) {
						x := rng.NormFloat64()
						sum += x * x / df
					}
					return sum
				}
				ms1, ms2 := large*chi(df1), chi(df2)
				x := min(max((math.Log(ms1/ms2)-lo)/(hi-lo)*(nodes-1), 0), nodes-1.001)
				var critical [2]float64
				for in := range critical {
					critical[in] = table[int(x)][in] + (x-math.Trunc(x))*(table[int(x)+1][in]-table[int(x)][in])
				}
				dims := len(s.Within[0]) + len(s.Between[0][0])
				normal = normal[:0]
				for range dims {
					normal = append(normal, rng.NormFloat64())
				}
				for i := range value {
					v := 0.0
					for h, l := range s.Within[i] {
						v += l * normal[h]
					}
					for h, l := range s.Between[0][i] {
						v += math.Sqrt(large) * l * normal[len(s.Within[i])+h]
					}
					value[i] = v
				}
				alarm := false
				for k, p := range pairs {
					bound := critical[p.In] * math.Sqrt(ms1*between[k]+ms2*within[k])
					d := value[p.I] - value[p.J]
					alarm = alarm || math.Abs(d) > bound
					if shifted := d + 3.5*math.Sqrt(large*between[k]+within[k]); math.Abs(shifted) > bound {
						if k == across {
							foundAcross++
						}
						if k == inside {
							foundWithin++
						}
					}
				}
				if alarm {
					alarms++
				}
			}
			share := func(n int) float64 { return 100 * float64(n) / campaigns }
			t.Logf("| %d, %d, %d, %d; %v | %.2f %% | %.0f %% | %.0f %% |", c.hard, c.easy, c.blocks, c.runs, sd, share(alarms), share(foundAcross), share(foundWithin))
			if due := 100*alpha + 4*math.Sqrt(100*100*alpha*(1-alpha)/campaigns); share(alarms) > due {
				t.Errorf("%s: false alarms in %.2f %% of campaigns", fmt.Sprint(c, sd), share(alarms))
			}
		}
	}
}
