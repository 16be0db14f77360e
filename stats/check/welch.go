package check

import "fairrun/stats/law"

// Welch tests whether means are equal when spreads need not be. With
// wᵢ = nᵢ/sᵢ², W = Σ wᵢ, x̃ = Σ wᵢx̄ᵢ/W and Λ = Σ (1−wᵢ/W)²/(nᵢ−1):
//
//	F = Σ wᵢ(x̄ᵢ − x̃)²/(k−1) / (1 + 2(k−2)Λ/(k²−1))
//
// with k−1 and (k²−1)/(3Λ) degrees of freedom. For two groups F is the square
// of Welch's t.
//
// Each group needs two values that differ: otherwise [ErrLoneRun] or
// [ErrNoSpread], in a [GroupError]. Blocks are not taken into account: on
// values that differ between blocks the test loses power, not its level.
//
// Source: Welch 1951, Biometrika 38, 330–336. Agrees with R's oneway.test to
// 1e-11 relative.
func Welch(groups [][]float64) (Result, error) {
	gs, err := summariseVaried(groups)
	if err != nil {
		return Result{}, err
	}
	var sumW float64
	for _, g := range gs {
		sumW += g.n / g.variance
	}
	// Means as distances from the first, so that a large common part drops out.
	origin := gs[0].mean
	centre := 0.0
	for _, g := range gs {
		centre += g.n / g.variance / sumW * (g.mean - origin)
	}
	var between, lambda float64
	for _, g := range gs {
		w := g.n / g.variance
		d := g.mean - origin - centre
		between += w * d * d
		lambda += (1 - w/sumW) * (1 - w/sumW) / (g.n - 1)
	}
	k := float64(len(gs))
	f := between / (k - 1) / (1 + 2*(k-2)*lambda/(k*k-1))
	df1, df2 := k-1, (k*k-1)/(3*lambda)
	return Result{Statistic: f, DF1: df1, DF2: df2, P: law.F{D1: df1, D2: df2}.Survival(f)}, nil
}
