package check

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"fairrun/stats/law"
)

// BrownForsythe tests whether groups spread equally: the one-way analysis of
// variance of the distances from each group's median,
//
//	zᵢⱼ = |xᵢⱼ − medianᵢ|,  F = Σ nᵢ(z̄ᵢ − z̄)²/(k−1) / (ΣΣ (zᵢⱼ − z̄ᵢ)²/(N−k))
//
// with k−1 and N−k degrees of freedom. It holds its level for skewed and
// long-tailed values alike, but sees next to nothing in groups of three or five:
// there use [HinesHines]. For a design with blocks, pass the residuals by
// treatment.
//
// [ErrPairs] when no group has three values: the two values of a pair lie
// equally far from their median. [ErrNoSpread] when the distances do not vary
// within any group.
//
// Source: Brown & Forsythe 1974, JASA 69, 364–367. Agrees with R's
// car::leveneTest(center = median) to 1e-11 relative.
func BrownForsythe(groups [][]float64) (Result, error) {
	values, rounding, err := medianDistances(groups)
	if err != nil {
		return Result{}, err
	}
	if !varied(values, rounding) {
		return Result{}, ErrNoSpread
	}
	return oneWay(values), nil
}

// medianDistances returns each group's distances from its median, and how far
// two equal distances may lie apart by rounding. At least one group has three
// values.
func medianDistances(groups [][]float64) (values [][]float64, rounding float64, err error) {
	values, _, err = presentGroups(groups)
	if err != nil {
		return nil, 0, err
	}
	pairs := true
	for _, v := range values {
		pairs = pairs && len(v) <= 2
		for _, x := range v {
			rounding = max(rounding, 0x1p-50*math.Abs(x)) // 4 ulp
		}
		distances(v)
	}
	if pairs {
		return nil, 0, ErrPairs
	}
	return values, rounding, nil
}

// varied reports whether in some group two distances differ by more than rounding.
func varied(groups [][]float64, rounding float64) bool {
	for _, v := range groups {
		if slices.Max(v)-slices.Min(v) > rounding {
			return true
		}
	}
	return false
}

// distances replaces each value by its distance from the median.
func distances(v []float64) {
	sorted := slices.Clone(v)
	slices.Sort(sorted)
	m := median(sorted)
	for i := range v {
		v[i] = math.Abs(v[i] - m)
	}
	if len(v) == 2 {
		v[1] = v[0]
	}
}

// median of sorted values; halved before adding, so that it cannot overflow.
func median(sorted []float64) float64 {
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	a, b := sorted[n/2-1], sorted[n/2]
	if s := a + b; !math.IsInf(s, 0) {
		return s / 2
	}
	return a/2 + b/2
}

// oneWay is the F test of equal means with equal spreads.
func oneWay(groups [][]float64) Result {
	var within, total float64
	means := make([]float64, len(groups))
	for i, g := range groups {
		means[i] = stat.Mean(g, nil)
		for _, v := range g {
			within += (v - means[i]) * (v - means[i])
		}
		total += float64(len(g))
	}
	grand := 0.0
	for i, g := range groups {
		grand += float64(len(g)) / total * means[i]
	}
	between := 0.0
	for i, g := range groups {
		between += float64(len(g)) * (means[i] - grand) * (means[i] - grand)
	}
	df1 := float64(len(groups) - 1)
	df2 := total - float64(len(groups))
	f := between / df1 / (within / df2)
	return Result{Statistic: f, DF1: df1, DF2: df2, P: law.F{D1: df1, D2: df2}.Survival(f)}
}
