package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/law"
)

// Lead is one level less the best of the others, larger being better.
type Lead struct {
	Estimate  float64 // mean of the level − largest mean of the others
	Low, High float64 // two-sided, see [Leads]
	Rival     int     // the level that is the best of the others
	T         float64 // against the rival
	Ahead     float64 // the least lead over another level, in standard errors; negative where one is above
	Behind    float64 // the largest shortfall from another level, in standard errors; negative where all are below
	P         float64 // the smallest alpha at which [Low, High] leaves zero
	MayBeBest bool    // High ≥ 0: the level belongs to the set that holds the best
}

// Leads compares each level with the best of the others, larger being better (negate the means where smaller is),
// by one interval from which word, p, sizes and the list of the possible best are all read:
//
//	Low_i  = min over j≠i of (θ̂ᵢ−θ̂ⱼ − c_L·seᵢⱼ)
//	High_i = min over j≠i of (θ̂ᵢ−θ̂ⱼ + c_U·seᵢⱼ)
//
// with c_L and c_U the two constants of [law.LessBest], and what follows from them when they all hold: where Low_i > 0,
// level i is the best, every other level lies θᵢ−θⱼ ≥ Low_i below it, and High_j is at most −Low_i; where every High_j but
// one is negative, that one is the best, and its Low is at least the least of −High_j. For equal standard errors the intervals for all levels hold
// together with probability 1−alpha, found by simulation (TestLeadsWorstFamily), not proved; for unequal ones the
// constants are those of equal ones, as in Tukey–Kramer intervals.
//
// A level is shown to be the best when Low > 0, not to be when High < 0; then P < alpha. One level at most has Low > 0, and
// then it alone may be the best.
//
// mean holds k ≥ 2 estimates, cov their covariance matrix (k×k, scaled to the response), df the noise's degrees of
// freedom. Panics on a mistake in shape.
//
// The construction is this project's own; it was compared with Hsu 1984 and Edwards & Hsu 1983 (see [EdwardsHsu]).
func Leads(mean []float64, cov mat.Symmetric, df, alpha float64) []Lead {
	mustMatch(mean, cov)
	k := len(mean)
	of := law.LessBest{Groups: k, DF: df}
	r := Rivals{Diff: make([]float64, k*k), SE: make([]float64, k*k), Lower: of.Lower(alpha), Upper: of.Upper(alpha)}
	for i := range k {
		for j := range k {
			if j != i {
				r.Diff[i*k+j], r.SE[i*k+j] = mean[i]-mean[j], differenceSE(cov, i, j)
			}
		}
	}
	out := make([]Lead, k)
	r.Intervals(out)
	best := 0
	for i := range out {
		out[i].P = of.UpperP(max(0, out[i].Behind))
		if out[i].Ahead > out[best].Ahead {
			best = i
		}
	}
	settle(out, best, of.LowerP(max(0, out[best].Ahead)))
	return out
}

// EdwardsHsu returns the two-sided intervals of Edwards & Hsu for each level less the best of the others, as derived
// here: Low and High of each level, to stand beside [Leads].
//
// With d_b Dunnett's two-sided constant for comparisons with level b, b is a candidate for the best when
// θ̂_b ≥ θ̂_j − d_b·se_bj for every j. If b is the best, then θ_i − max of the others is θ_i − θ_b for i ≠ b, in
// θ̂_i − θ̂_b ± d_b·se_ib, and for b itself min over j of θ_b − θ_j, between the least of the ends of θ̂_b − θ̂_j ± d_b·se_bj.
// The interval of a level is the hull of these over all candidates.
//
// Where no level is a candidate, which takes very unequal standard errors, the one with the largest mean is taken.
//
// Source: Edwards & Hsu 1983, Journal of the American Statistical Association 78, 965–971 (from memory). Accuracy: that of
// [law.MultivariateT].
func EdwardsHsu(mean []float64, cov mat.Symmetric, df, alpha float64) []Range {
	mustMatch(mean, cov)
	k := len(mean)
	critical := make([]float64, k)
	var candidates []int
	largest := 0
	for b := range mean {
		if mean[b] > mean[largest] {
			largest = b
		}
		critical[b], _ = law.MultivariateT{Corr: correlationAgainst(cov, b), DF: df}.UpperQuantile(alpha, true)
		behind := false
		for j := range mean {
			behind = behind || j != b && mean[b] < mean[j]-critical[b]*differenceSE(cov, b, j)
		}
		if !behind {
			candidates = append(candidates, b)
		}
	}
	if len(candidates) == 0 {
		candidates = []int{largest}
	}
	out := make([]Range, k)
	for i := range out {
		out[i] = Range{math.Inf(1), math.Inf(-1)}
		for _, b := range candidates {
			low, high := math.Inf(1), math.Inf(1)
			for j := range mean {
				if i == b && j != b || i != b && j == b {
					d, half := mean[i]-mean[j], critical[b]*differenceSE(cov, i, j)
					low, high = min(low, d-half), min(high, d+half)
				}
			}
			out[i] = Range{min(out[i].Low, low), max(out[i].High, high)}
		}
	}
	return out
}

// Range is an interval.
type Range struct{ Low, High float64 }

// differenceSE is the standard error of the difference of two estimates.
func differenceSE(cov mat.Symmetric, i, j int) float64 {
	return math.Sqrt(max(0, cov.At(i, i)+cov.At(j, j)-2*cov.At(i, j)))
}

// mustMatch panics unless there are two or more means and their covariance matrix.
func mustMatch(mean []float64, cov mat.Symmetric) {
	if len(mean) < 2 || cov.SymmetricDim() != len(mean) {
		panic("compare: two or more means and their covariance matrix are needed")
	}
}
