package blocks

import "fairrun/design/internal/information"

// EfficiencyInPlots returns the average efficiency of the comparisons in incomplete blocks of whole
// plots, and a bound that no arrangement of such whole plots exceeds: the variance of a comparison
// of as many runs, each set up for itself with no noise of its own, in blocks that hold every
// treatment alike, over the average variance with these blocks and whole plots.
func EfficiencyInPlots(p Spec, blocks [][]int) (efficiency, bound float64) {
	basis, side := information.Basis(p.Treatments, p.Effects)
	runs := len(blocks) * p.Runs
	efficiency = efficiencyOfTrace(information.TraceInPlots(p.Treatments, p.Plots, p.Effects, blocks, false), p.Treatments, basis, side, runs)
	if p.Effects != nil {
		return efficiency, 1
	}
	return efficiency, efficiencyOfTrace(p.leastPlotTrace(blocks), p.Treatments, nil, p.Treatments, runs)
}

// leastPlotTrace returns what plotTrace cannot fall below in blocks with whole plots as long as
// these. The variances of H − 1 comparisons between settings and T − H within them are at least
// those of as many that share the information tr P C and tr (I − P) C alike, with P the projection
// on what differs between settings: a matrix without its part between P and I − P, and then
// with the average of its values, has an inverse of no greater trace. With whole plots of k runs of
// a setting with m treatments, which hold them as evenly as can be,
//
//	tr P C = Σ over whole plots of (1/m) (ka − (ka)² / Σ ka over the block).
func (p Spec) leastPlotTrace(blocks [][]int) float64 {
	settings := p.Settings()
	var between, all float64
	for _, block := range blocks {
		s := information.OfBlock(p.Plots, block)
		for from, to := range information.WholePlots(p.Plots, block) {
			k, of := to-from, len(settings[p.Plots[block[from]]])
			a := information.Weight(k)
			// Each treatment ⌊k/of⌋ times, and some once more.
			whole, more := k/of, k%of
			even := float64(more*(whole+1)*(whole+1) + (of-more)*whole*whole)
			all += float64(k) - even*a - float64(even*float64(a*a))/s
			own := float64(float64(k) * a)
			between += (own - float64(own*own)/s) / float64(of)
		}
	}
	h := len(settings)
	within := all - between
	trace := float64((h-1)*(h-1)) / between
	if p.Treatments > h {
		trace += float64((p.Treatments-h)*(p.Treatments-h)) / within
	}
	return trace
}
