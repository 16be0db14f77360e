package check

import "math"

// RankPair compares the mean ranks of two groups.
type RankPair struct {
	Level, Against int     // indexes of the groups; Level > Against
	Difference     float64 // mean rank of Level − mean rank of Against
	Z, P           float64 // two-sided
	Adjusted       float64 // P after Holm over all pairs
}

// Dunn compares all pairs of groups by their mean ranks in the pooled ranking
// of [KruskalWallis]:
//
//	z = (R̄ᵢ − R̄ⱼ) / √((N(N+1)/12 − Σ(t³−t)/(12(N−1)))·(1/nᵢ + 1/nⱼ))
//
// with two-sided normal p-values, adjusted by [Holm]. Pairs come in order of
// Level, then Against. [ErrConstant] when all values are equal.
//
// Source: Dunn 1964, Technometrics 6, 241–252.
func Dunn(groups [][]float64) ([]RankPair, error) {
	r, err := rankGroups(groups)
	if err != nil {
		return nil, err
	}
	variance := r.variance()
	var pairs []RankPair
	var ps []float64
	for j := range r.n {
		for i := range j {
			p := RankPair{Level: r.index[j], Against: r.index[i], Difference: r.mean[j] - r.mean[i]}
			p.Z = p.Difference / math.Sqrt(variance*(1/r.n[i]+1/r.n[j]))
			p.P = min(1, 2*normal.Survival(math.Abs(p.Z)))
			pairs = append(pairs, p)
			ps = append(ps, p.P)
		}
	}
	for i, adjusted := range Holm(ps) {
		pairs[i].Adjusted = adjusted
	}
	return pairs, nil
}
