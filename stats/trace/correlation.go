package trace

import "math"

const (
	maxLags = 64 // beyond which residuals are averaged in blocks before going on
	block   = 8
)

// correlationFactor returns F = 1 + 2Σρ_k up to the first lag K whose correlation is
// less than 2/√n. The variance of a mean of n correlated residuals is σ²F/n. Where
// correlation reaches further than 64 lags the same is computed from means of 8.
//
// Residuals of a fit with p parameters have correlations that are too small by some pF/n
// each; F is divided by 1 − (2K−1)p/n, which makes that good to first order.
func correlationFactor(r []float64, p int) float64 {
	n := len(r)
	var square float64
	for _, x := range r {
		square += x * x
	}
	if square == 0 || n < 8 {
		return 1
	}
	least := 2 / math.Sqrt(float64(n))
	f := 1.0
	k := 1
	for ; k < n/4; k++ {
		if k > maxLags && n >= 8*block*block {
			means := blockMeans(r)
			var blocks float64
			for _, x := range means {
				blocks += x * x
			}
			ratio := blocks / float64(len(means)) / (square / float64(n))
			return max(f, correlationFactor(means, p)*ratio*block)
		}
		var cross float64
		for i, x := range r[k:] {
			cross += x * r[i]
		}
		rho := cross / square
		if rho < least {
			break
		}
		f += 2 * rho
	}
	taken := float64(p) / float64(n)
	return f * (1 - taken) / max(0.5, 1-float64(2*k-1)*taken)
}

func blockMeans(r []float64) []float64 {
	means := make([]float64, len(r)/block)
	for i := range means {
		for _, x := range r[i*block : (i+1)*block] {
			means[i] += x / block
		}
	}
	return means
}

// correlatedDF returns the degrees of freedom of a variance times F, both estimated from
// correlated residuals.
func correlatedDF(df, f float64) float64 { return max(1, df/(2*f-1)) }
