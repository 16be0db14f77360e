package law

import (
	"math"
	"sync"
)

// normalRange is the law of the range of k independent standard normal variables, as
// two curves: the upper tail and the CDF.
type normalRange struct {
	k     int
	upper *curve // log P(R > w)
	lower *curve // log P(R ≤ w) - (k-1) log w
}

// rangeTop is where the Bonferroni bound has become exact to the last digit: what is
// left out is below exp(-w²/12) of it.
const rangeTop = 28

var normalRanges sync.Map // int → *normalRange

// rangeOf returns the law for k variables; it is made once.
func rangeOf(k int) *normalRange {
	if r, ok := normalRanges.Load(k); ok {
		return r.(*normalRange)
	}
	made := &normalRange{k: k}
	made.upper = newCurve(0, rangeTop, made.logTail)
	made.lower = newCurve(0, rangeTop, made.logLower)
	r, _ := normalRanges.LoadOrStore(k, made)
	return r.(*normalRange)
}

// logSurvival returns log P(R > w).
func (r *normalRange) logSurvival(w float64) float64 {
	if r.k == 2 {
		return math.Ln2 + logNormalTail(w/math.Sqrt2)
	}
	if w >= rangeTop {
		return math.Log(float64(r.k)*float64(r.k-1)) + logNormalTail(w/math.Sqrt2)
	}
	return r.upper.at(w)
}

// logCDF returns log P(R ≤ w).
func (r *normalRange) logCDF(w float64) float64 {
	if w >= 12 {
		return math.Log1p(-math.Exp(r.logSurvival(w)))
	}
	return r.lower.at(w) + float64(r.k-1)*math.Log(w)
}

// logTail computes log P(R > w). With z the largest of the k variables,
//
//	P(R > w) = k ∫ φ(z) {Φ(z)^(k-1) - [Φ(z) - Φ(z-w)]^(k-1)} dz,
//
// which is a sum of positive parts: the brace is Φ^m (1 - (1-Φ(z-w)/Φ(z))^m), m = k-1.
func (r *normalRange) logTail(w float64) float64 {
	m := float64(r.k - 1)
	f := func(z float64) float64 {
		all, below := normalTail(-z), normalTail(w-z)
		if all == 0 {
			return math.Inf(-1)
		}
		share := -math.Expm1(m * math.Log1p(-below/all))
		return -z*z/2 + m*math.Log(all) + math.Log(share)
	}
	peak, top := climb(f, math.Max(w/2, math.Sqrt(2*math.Log(m+1))*0.9), 0.5)
	lo := edge(f, peak, top-reach, -6)
	hi := edge(f, peak, top-reach, 6)
	return math.Log((m+1)/math.Sqrt(2*math.Pi)) + trapezoid(f, lo, hi, top, 24)
}

// logLower computes log P(R ≤ w) - (k-1) log w from
//
//	P(R ≤ w) = k ∫ φ(z) [Φ(z) - Φ(z-w)]^(k-1) dz.
func (r *normalRange) logLower(w float64) float64 {
	m := float64(r.k - 1)
	f := func(z float64) float64 { return -z*z/2 + m*logNormalMean(z-w, w) }
	peak, top := climb(f, w/2, 0.5)
	lo := edge(f, peak, top-reach, -6)
	hi := edge(f, peak, top-reach, 6)
	return math.Log((m+1)/math.Sqrt(2*math.Pi)) + trapezoid(f, lo, hi, top, 24)
}
