package check

import (
	"math"

	"fairrun/stats/law"
)

// Bartlett tests whether groups of normal values spread equally:
//
//	K² = Σ (nᵢ−1)·log(s²/sᵢ²) / (1 + (Σ 1/(nᵢ−1) − 1/(N−k)) / (3(k−1)))
//
// with sᵢ² the groups' variances and s² the pooled one; chi-squared with k−1
// degrees of freedom. It sees more than [BrownForsythe] when the values are
// normal, but takes long tails for unequal spread.
//
// Each group needs two values that differ: otherwise [ErrLoneRun] or
// [ErrNoSpread], in a [GroupError].
//
// Source: Bartlett 1937, Proc. Royal Society A 160, 268–282. Agrees with R's
// bartlett.test to 1e-11 relative.
func Bartlett(groups [][]float64) (Result, error) {
	gs, err := summariseVaried(groups)
	if err != nil {
		return Result{}, err
	}
	var df, pooled, reciprocals float64
	for _, g := range gs {
		df += g.n - 1
		pooled += (g.n - 1) * g.variance
		reciprocals += 1 / (g.n - 1)
	}
	pooled /= df
	sum := 0.0
	for _, g := range gs {
		sum += (g.n - 1) * math.Log(pooled/g.variance)
	}
	df1 := float64(len(gs) - 1)
	k2 := max(0, sum/(1+(reciprocals-1/df)/(3*df1)))
	return Result{Statistic: k2, DF1: df1, P: law.ChiSquared{DF: df1}.Survival(k2)}, nil
}
