package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/law"
	"fairrun/stats/parallel"
)

// FromBest says how far one level lies from the best of the others, in the
// direction "level minus best of the others", larger being better.
type FromBest struct {
	Estimate  float64 // level − max of the others
	Low, High float64 // constrained interval: Low ≤ 0 ≤ High, see [WithBest]
	Rival     int     // the level that is the best of the others
	Clear     bool    // all pairs together show it better than every other, or worse than some: see [JudgeFromBest]
	T         float64 // against the rival
	Farthest  float64 // largest t by which it is worse than some other, or better than every other: Clear when beyond the critical value of all pairs
	P         float64 // adjusted by the law of all pairs, against the level being no better and no worse than any other: at most alpha when Clear
}

// WithBest compares each level with the best of the others, larger being
// better (negate the means where smaller is). It returns Hsu's constrained
// intervals for θᵢ − max over j≠i of θⱼ, which hold together with probability
// 1−alpha:
//
//	High_i = max(0, min over j≠i of (θ̂ᵢ−θ̂ⱼ + cᵢ·seᵢⱼ))
//	Low_i  = 0 if level i alone has High > 0, otherwise
//	         min over j≠i with High_j > 0 of (θ̂ᵢ−θ̂ⱼ − cⱼ·seᵢⱼ), at most 0
//
// where cᵢ is Dunnett's one-sided critical value with level i as the baseline.
// High_i = 0 says that level i is not the best, Low_i = 0 that it is. A level
// belongs to the set that holds the best when High_i > 0.
//
// mean holds k ≥ 2 estimates and cov their covariance matrix (k×k, scaled to
// the response); df is the noise's degrees of freedom.
//
// Source: Hsu 1984, Annals of Statistics 12, 1136–1144; with unequal
// replication Hsu 1996, Multiple Comparisons, chapter 4.
func WithBest(mean []float64, cov mat.Symmetric, df, alpha float64) []FromBest {
	k := len(mean)
	if k < 2 || cov.SymmetricDim() != k {
		panic("compare: WithBest needs two or more means and their covariance matrix")
	}
	pairs := Pairs{Levels: k}
	r := Rivals{Diff: make([]float64, k*k), SE: make([]float64, k*k), Critical: criticalAgainst(cov, df, alpha), Pairs: pairs.Critical(alpha, df)}
	for i := range k {
		for j := range k {
			if j != i {
				r.Diff[i*k+j] = mean[i] - mean[j]
				r.SE[i*k+j] = math.Sqrt(max(0, cov.At(i, i)+cov.At(j, j)-2*cov.At(i, j)))
			}
		}
	}
	out := make([]FromBest, k)
	r.Intervals(out)
	for i := range out {
		out[i].P = pairs.Adjust(out[i].Farthest, df)
	}
	return out
}

// MayBeBest says which levels belong to the set that holds the best: those whose High is positive in [WithBest].
// Most are decided by what bounds Dunnett's critical value, Student's t for one comparison and for k−1 by Bonferroni; its
// own law, which may be dear, is asked for the others only.
func MayBeBest(mean []float64, cov mat.Symmetric, df, alpha float64) []bool {
	k := len(mean)
	if k < 2 || cov.SymmetricDim() != k {
		panic("compare: MayBeBest needs two or more means and their covariance matrix")
	}
	least, most := law.T{DF: df}.UpperQuantile(alpha), law.T{DF: df}.UpperQuantile(alpha/float64(k-1))
	out := make([]bool, k)
	var running parallel.Group
	for i := range k {
		worst := math.Inf(-1) // shortfall from another, in standard errors
		for j := range k {
			if j != i {
				worst = max(worst, (mean[j]-mean[i])/math.Sqrt(max(0, cov.At(i, i)+cov.At(j, j)-2*cov.At(i, j))))
			}
		}
		if out[i] = worst < least; out[i] || worst >= most {
			continue
		}
		running.Go(func() {
			out[i] = worst < Together(correlationAgainst(cov, i), true).Critical(alpha, df)
		})
	}
	running.Wait()
	return out
}

// criticalAgainst returns Dunnett's one-sided critical value with each level as the baseline.
func criticalAgainst(cov mat.Symmetric, df, alpha float64) []float64 {
	crit := make([]float64, cov.SymmetricDim())
	var running parallel.Group
	for i := range crit {
		running.Go(func() {
			crit[i] = Together(correlationAgainst(cov, i), true).Critical(alpha, df)
		})
	}
	running.Wait()
	return crit
}

// correlationAgainst returns the correlation matrix of the k−1 differences
// between level i and each other level.
func correlationAgainst(cov mat.Symmetric, i int) *mat.SymDense {
	k := cov.SymmetricDim()
	var others []int
	for j := range k {
		if j != i {
			others = append(others, j)
		}
	}
	c := mat.NewSymDense(k-1, nil)
	for a, j := range others {
		for b := a; b < len(others); b++ {
			l := others[b]
			c.SetSym(a, b, cov.At(j, l)-cov.At(j, i)-cov.At(i, l)+cov.At(i, i))
		}
	}
	return Correlation(c)
}

// Correlation scales a covariance matrix to ones on the diagonal. A variance
// of zero or less is the caller's mistake.
func Correlation(cov mat.Symmetric) *mat.SymDense {
	n := cov.SymmetricDim()
	c := mat.NewSymDense(n, nil)
	for i := range n {
		if !(cov.At(i, i) > 0) {
			panic("compare: Correlation needs positive variances")
		}
		for j := i; j < n; j++ {
			c.SetSym(i, j, cov.At(i, j)/math.Sqrt(cov.At(i, i)*cov.At(j, j)))
		}
		c.SetSym(i, i, 1)
	}
	return c
}
