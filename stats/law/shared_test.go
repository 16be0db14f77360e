package law

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Independent contrasts are the maximum modulus, and one set is its own law.
func TestSharedIsMaximumModulus(t *testing.T) {
	one := func(x float64) float64 { return 2 * normalTail(x) }
	for _, n := range []int{1, 4, 9} {
		var tails []func(x float64) float64
		for range n {
			tails = append(tails, one)
		}
		l := NewShared(tails...)
		for _, df := range []float64{1, 4, 30, math.Inf(1)} {
			for _, x := range []float64{0.5, 2, 4, 9} {
				got, want := l.Survival(x, df), MaximumModulus(n, df).Survival(x, true)
				if math.Abs(got/want-1) > 1e-9 {
					t.Errorf("%d contrasts: Survival(%v, %v) = %v, want %v", n, x, df, got, want)
				}
			}
		}
	}
}

// Two factors of three levels in a balanced plan: the multivariate t of all six pairs.
func TestSharedIsMultivariateT(t *testing.T) {
	pairs := func(x float64) float64 { return StudentizedRange{Groups: 3, DF: math.Inf(1)}.Survival(x * math.Sqrt2) }
	l := NewShared(pairs, pairs)
	corr := mat.NewSymDense(6, nil)
	for i := range 6 {
		corr.SetSym(i, i, 1)
	}
	for f := range 2 {
		corr.SetSym(3*f, 3*f+1, 0.5)  // 2−1, 3−1
		corr.SetSym(3*f, 3*f+2, -0.5) // 2−1, 3−2
		corr.SetSym(3*f+1, 3*f+2, 0.5)
	}
	for _, df := range []float64{3, 20} {
		for _, x := range []float64{2, 3.5} {
			want, bound := MultivariateT{Corr: corr, DF: df}.Survival(x, true)
			if got := l.Survival(x, df); math.Abs(got-want) > bound+1e-9 {
				t.Errorf("Survival(%v, %v) = %v, want %v ± %v", x, df, got, want, bound)
			}
		}
	}
}
