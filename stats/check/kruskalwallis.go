package check

import "fairrun/stats/law"

// KruskalWallis tests by ranks whether groups lie equally high: with R̄ᵢ the
// groups' mean ranks among all N values, ties sharing their mean rank,
//
//	H = Σ nᵢ(R̄ᵢ − (N+1)/2)² / (N(N+1)/12 − Σ(t³−t)/(12(N−1)))
//
// which is the usual H divided by its correction for sets of t tied values;
// chi-squared with k−1 degrees of freedom. That law is an approximation, on the
// cautious side: measured on 3 and 5 groups, a test at the 5 % level makes 1 to 2 %
// false calls with three values a group, 3.5 to 4.5 % with five. Blocks are not taken into account, see [Friedman].
//
// [ErrConstant] when all values are equal.
//
// Source: Kruskal & Wallis 1952, JASA 47, 583–621. Agrees with R's
// kruskal.test to 1e-11 relative.
func KruskalWallis(groups [][]float64) (Result, error) {
	r, err := rankGroups(groups)
	if err != nil {
		return Result{}, err
	}
	sum := 0.0
	for i, n := range r.n {
		d := r.mean[i] - (r.total+1)/2
		sum += n * d * d
	}
	df := float64(len(r.n) - 1)
	h := sum / r.variance()
	return Result{Statistic: h, DF1: df, P: law.ChiSquared{DF: df}.Survival(h)}, nil
}
