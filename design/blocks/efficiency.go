package blocks

import (
	"math"

	"fairrun/design/internal/information"
)

// Efficiency returns the average efficiency of the comparisons of a block design, and a bound
// that no such design exceeds. The efficiency is the variance 2/r̄ of a comparison of complete
// blocks with r̄ = N/T runs of each treatment, over the average variance with these blocks; 0 if
// some comparison cannot be estimated.
//
// With all blocks of k runs the first bound follows from the trace of the information matrix, the
// harmonic mean of canonical efficiencies being no greater than their mean. Written for k < T it is
//
//	E ≤ ē = T(k − 1) / ((T − 1)k),
//
// which only balanced designs reach (Kempthorne, O. 1956, Annals of Mathematical Statistics 27).
// Where all treatments have r runs and blocks hold no treatment twice, the numbers of blocks that
// two treatments share are integers around λ = r(k − 1)/(T − 1), so canonical efficiencies have at
// least variance s² = Tα(1 − α)/(rk)² with α the fraction of λ, and among values of mean ē and
// variance s² the harmonic mean is greatest when T − 2 are equal and one is larger:
//
//	E ≤ (T − 1) / [ (T − 2)/(ē − s/√(T − 2)) + 1/(ē + s√(T − 2)) ]
//
// (the second-moment bound of Jarrett, R. G. 1977, Biometrika 64, 67–72, derived here). It is
// given where N is a multiple of T and the other is not lower.
//
// Where a model of effects is to be fitted, efficiency is that of its comparisons and the bound is 1.
func Efficiency(p Spec, blocks [][]int) (efficiency, bound float64) {
	basis, side := information.Basis(p.Treatments, p.Effects)
	c, _ := information.InBlocks(p.Treatments, blocks)
	trace := information.Trace(c, p.Treatments, basis, side)
	return efficiencyOfTrace(trace, p.Treatments, basis, side, len(blocks)*p.Runs), efficiencyBound(p)
}

// efficiencyOfTrace returns the efficiency that belongs to such a sum: with complete blocks each
// comparison would have variance T/N.
func efficiencyOfTrace(trace float64, treatments int, basis []float64, side, runs int) float64 {
	comparisons := side
	if basis == nil {
		comparisons--
	}
	return float64(comparisons*treatments) / (float64(runs) * trace)
}

// efficiencyBound returns the bound.
func efficiencyBound(p Spec) float64 {
	if p.Effects != nil {
		return 1
	}
	return min(blockBound(p), sessionBound(p))
}

// blockBound is the bound whatever the sessions.
func blockBound(p Spec) float64 {
	treatments, k := p.Treatments, p.Runs
	t, n := float64(treatments), float64(k)
	mean, squares := meanEfficiency(treatments, k)
	runs := p.Blocks * p.Runs
	if runs%treatments != 0 {
		return mean
	}
	r := float64(runs / treatments)
	// Concurrences over all pairs i ≠ j sum to B·(k² − squares).
	lambda := float64(p.Blocks) * (n*n - squares) / (t * (t - 1))
	alpha := lambda - math.Floor(lambda+1e-9)
	if alpha < 1e-9 || treatments == 2 {
		return mean
	}
	s := math.Sqrt(t*alpha*(1-alpha)) / (r * n)
	root := math.Sqrt(t - 2)
	if mean-s/root <= 0 {
		return mean
	}
	return min(mean, (t-1)/((t-2)/(mean-s/root)+1/(mean+s*root)))
}

// meanEfficiency returns the mean of the canonical efficiencies of blocks of k runs in which treatments
// occur as equally often as can be, and the sum of the squares of how often they do.
func meanEfficiency(treatments, k int) (mean, squares float64) {
	t, n := float64(treatments), float64(k)
	// Each block holds all treatments so many times, and some once more.
	whole, more := float64(k/treatments), float64(k%treatments)
	squares = more*(whole+1)*(whole+1) + (t-more)*whole*whole
	return t / (t - 1) * (1 - squares/(n*n)), squares
}
