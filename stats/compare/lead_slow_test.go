//go:build slow

package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/law"
)

// TestLeadsWorstFamily searches configurations of the means for the one where intervals of [Leads] fail to hold most often:
// random starts and local steps on common random numbers, then fresh campaigns at the worst found.
func TestLeadsWorstFamily(t *testing.T) {
	const alpha, starts, steps, few, many = 0.05, 40, 30, 4000, 400_000
	for _, c := range []struct {
		k  int
		df float64
	}{{3, 10}, {4, 12}, {5, 20}, {8, 28}} {
		of := law.LessBest{Groups: c.k, DF: c.df}
		lower, upper := of.Lower(alpha), of.Upper(alpha)
		miss := func(theta []float64, campaigns int, seed uint64) float64 {
			rng := rand.New(rand.NewPCG(seed, 7))
			x := make([]float64, c.k)
			missed := 0
			for range campaigns {
				s := 0.0
				for range int(c.df) {
					z := rng.NormFloat64()
					s += z * z
				}
				s = math.Sqrt(s / c.df)
				for i := range x {
					x[i] = theta[i] + rng.NormFloat64()/math.Sqrt2
				}
				for i := range x {
					d, delta := math.Inf(1), math.Inf(1)
					for j := range x {
						if j != i {
							d, delta = min(d, x[i]-x[j]), min(delta, theta[i]-theta[j])
						}
					}
					if delta < d-lower*s || delta > d+upper*s {
						missed++
						break
					}
				}
			}
			return float64(missed) / float64(campaigns)
		}
		rng := rand.New(rand.NewPCG(uint64(c.k), 1))
		var worst []float64
		most := 0.0
		for range starts {
			theta := make([]float64, c.k)
			for i := range theta {
				theta[i] = -6 * rng.Float64() * float64(rng.IntN(2))
			}
			at := miss(theta, few, 1)
			for range steps {
				next := append([]float64{}, theta...)
				next[rng.IntN(c.k)] += rng.NormFloat64()
				if m := miss(next, few, 1); m > at {
					theta, at = next, m
				}
			}
			if at > most {
				worst, most = theta, at
			}
		}
		got := miss(worst, many, 99)
		t.Logf("%d levels, %v df: worst family miss %.4f at %.2f", c.k, c.df, got, worst)
		if se := math.Sqrt(alpha * (1 - alpha) / many); got > alpha+3*se {
			t.Errorf("%d levels, %v df: %.4f at %v, want at most %v", c.k, c.df, got, worst, alpha)
		}
	}
}
