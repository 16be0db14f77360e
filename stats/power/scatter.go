package power

import (
	"math"

	"fairrun/stats/law"
)

// Scatter is the run-to-run standard deviation and how well it is known.
type Scatter struct {
	SD float64 // in the response's unit
	DF float64 // degrees of freedom it was measured on; 0 or +Inf: assumed, taken as known
}

// known reports whether n carries no uncertainty.
func (n Scatter) known() bool { return n.DF == 0 || math.IsInf(n.DF, 1) }

func (n Scatter) check() error {
	if !(n.DF >= 0) {
		panic("power: noise has degrees of freedom of 0 or more")
	}
	return checkNoise(n.SD)
}

// Interval returns the limits that hold the true noise with the given
// confidence, equal chances on both sides:
//
//	SD · √(DF / χ²),   χ² the quantiles at (1±confidence)/2 for DF degrees of freedom
//
// Both are SD itself for a noise that is assumed.
func (n Scatter) Interval(confidence float64) (low, high float64) {
	checkShare(confidence)
	if n.known() {
		return n.SD, n.SD
	}
	tail := (1 - confidence) / 2
	law := law.ChiSquared{DF: n.DF}
	return n.SD * math.Sqrt(n.DF/law.UpperQuantile(tail)), n.SD * math.Sqrt(n.DF/law.Quantile(tail))
}

// Upper returns the limit that the true noise stays under with the given
// confidence. A campaign planned for it has the power asked for with at least
// that confidence; 0.8 is Browne's (1995) suggestion.
func (n Scatter) Upper(confidence float64) float64 {
	checkShare(confidence)
	if n.known() {
		return n.SD
	}
	return n.SD * math.Sqrt(n.DF/law.ChiSquared{DF: n.DF}.Quantile(1-confidence))
}
