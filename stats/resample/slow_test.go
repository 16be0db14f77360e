//go:build slow

package resample

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// study runs so many campaigns, each with its own drawn order, noise and 399
// fresh draws, and returns the shares in which the overall test rejects at 0.05,
// some comparison that is truly zero has PAdjusted or PComplete of 0.05 or less, and some
// interval misses its true difference.
func study(t *testing.T, campaigns int, d *Design, each int, effect []float64, noise func(*rand.Rand) float64) (overall, adjusted, complete, missed float64) {
	t.Helper()
	const draws = 399
	rng := rand.New(rand.NewPCG(20, 26))
	pairs := d.Families[0].Contrasts
	y := make([]float64, len(d.Drawn))
	for c := range campaigns {
		shuffles(each, uint64(c)+1)(1<<20)(d.Drawn, d.Treatments)
		for i, k := range d.Drawn {
			y[i] = effect[k] + noise(rng) + 0.5*d.Slots.Covariates[0].Value[i]
		}
		test, err := d.Test(y)
		if err != nil {
			t.Fatal(err)
		}
		results, err := Sample(context.Background(), draws, sampler(d, each, uint64(c)+1), test)
		if err != nil {
			t.Fatal(err)
		}
		r := results[0]
		if r.P <= 0.05 {
			overall++
		}
		falseAdjusted, falseComplete, miss := false, false, false
		for k, p := range r.Families[0].Comparisons {
			truth := dot(pairs[k], effect)
			miss = miss || p.Low > truth || p.High < truth
			falseAdjusted = falseAdjusted || truth == 0 && p.PAdjusted <= 0.05
			falseComplete = falseComplete || truth == 0 && p.PComplete <= 0.05
		}
		for _, v := range []struct {
			is  bool
			sum *float64
		}{{falseAdjusted, &adjusted}, {falseComplete, &complete}, {miss, &missed}} {
			if v.is {
				*v.sum++
			}
		}
	}
	n := float64(campaigns)
	return overall / n, adjusted / n, complete / n, missed / n
}

// laws are laws of noise: normal, and one with a long tail to one side.
var laws = map[string]func(*rand.Rand) float64{
	"normal":      (*rand.Rand).NormFloat64,
	"exponential": (*rand.Rand).ExpFloat64,
}

// TestFalseAlarms counts false alarms when no treatment does anything. The F test and
// PComplete are exact whatever the noise; PAdjusted and the intervals are not, with
// more than two treatments, and are allowed a point more.
func TestFalseAlarms(t *testing.T) {
	const campaigns = 5000
	limit := 0.05 + 3*math.Sqrt(0.05*0.95/campaigns)
	for name, noise := range laws {
		for _, treatments := range []int{2, 4} {
			d := campaign(treatments, 4, 2)
			overall, adjusted, complete, missed := study(t, campaigns, d, 2*treatments, make([]float64, treatments), noise)
			t.Logf("%s, %d treatments: overall %.4f, adjusted %.4f, complete %.4f, interval %.4f", name, treatments, overall, adjusted, complete, missed)
			if tol := limit - 0.05; math.Abs(overall-0.05) > tol || math.Abs(complete-0.05) > tol {
				t.Errorf("%s, %d treatments: false alarms overall %v, complete %v, want 0.05 ± %v", name, treatments, overall, complete, tol)
			}
			if extra := 0.01 * float64(min(treatments-2, 1)); adjusted > limit+extra || missed > limit+extra {
				t.Errorf("%s, %d treatments: false alarms adjusted %v, intervals that miss %v, want at most %v", name, treatments, adjusted, missed, limit+extra)
			}
		}
	}
}

// TestCoverage counts campaigns in which all simultaneous intervals hold their true
// differences, when treatments differ by much more than the noise.
func TestCoverage(t *testing.T) {
	const campaigns = 5000
	limit := 0.05 + 3*math.Sqrt(0.05*0.95/campaigns)
	for name, noise := range laws {
		for _, effect := range [][]float64{{0, 3}, {0, 0, 0, 10}, {0, 0, 5, 9}} {
			replicates := 4 / len(effect)
			d := campaign(len(effect), 4, replicates)
			_, adjusted, complete, missed := study(t, campaigns, d, len(effect)*replicates, effect, noise)
			t.Logf("%s, effects %v: adjusted %.4f, complete %.4f, interval %.4f", name, effect, adjusted, complete, missed)
			extra := 0.01 * float64(min(len(effect)-2, 1))
			if adjusted > limit+extra || missed > limit+extra {
				t.Errorf("%s, effects %v: false alarms %v, intervals that miss %v, want at most %v", name, effect, adjusted, missed, limit+extra)
			}
		}
	}
}
