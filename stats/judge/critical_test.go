package judge

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/law"
)

// The critical value of nearly equal correlations lies within a few thousandths of that of equal ones with
// the same mean: exact values by product structure, as drift and unequal replication make them.
func TestInterpolatedCriticalValue(t *testing.T) {
	c := NewCriticals(compare.KindBaseline, 0.05, nil)
	for _, replicates := range [][]float64{{12, 12, 12, 12, 12}, {12, 11, 12, 13, 12}, {10, 12, 11, 12, 9}, {14, 9, 9, 10, 12}, {8, 12, 12, 12, 12}} {
		n := len(replicates)
		p := newPrecision(n)
		live := []int{0, 1, 2, 3, 4}
		p.clear(51, live)
		loading := make([]float64, n-1)
		corr := mat.NewSymDense(n-1, nil)
		for i := range n {
			for j := range n {
				if i != j {
					p.set(i, j, 1/replicates[i]+1/replicates[j], 0)
				}
			}
		}
		for i := range loading {
			loading[i] = math.Sqrt(replicates[i+1] / (replicates[0] + replicates[i+1]))
		}
		for i := range loading {
			for j := range loading {
				if corr.SetSym(i, j, loading[i]*loading[j]); i == j {
					corr.SetSym(i, i, 1)
				}
			}
		}
		want, _ := law.MultivariateT{Corr: corr, DF: 51}.UpperQuantile(0.05, true)
		if got := c.against(&p, 0, 51); math.Abs(got-want) > 0.003 {
			t.Errorf("replicates %v: critical value %v, exact %v", replicates, got, want)
		}
	}
}

// Between whole degrees of freedom critical values are good to 1e-4.
func TestCriticalValueOfFractionalDF(t *testing.T) {
	c := NewCriticals(compare.KindPairs, 0.05, nil)
	for _, df := range []float64{2.2, 3.7, 8.5, 24.9, 51.3, 300.5} {
		want := compare.Pairs{Levels: 4}.Critical(0.05, df)
		if got := c.at(criticalKey{levels: 4, df: df, pairs: true}); math.Abs(got-want) > 1e-4*want {
			t.Errorf("df %v: critical value %v, exact %v", df, got, want)
		}
	}
}
