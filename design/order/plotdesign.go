package order

import (
	"math"

	"fairrun/design/internal/information"
	"fairrun/design/order/internal/loss"
	"fairrun/stats/words"
)

// plotDesign is what designs at two levels have in common: settings of the hard-to-change factors over
// the blocks, and treatments within whole plots.
type plotDesign struct{ blockDesign }

// leastPlotRuns is the fewest runs of an incomplete block of whole plots.
const leastPlotRuns = 4

func (k plotDesign) checkKind() error {
	w, settings := k.plotsPerBlock(), len(k.settings())
	switch {
	case len(k.Reference) > 0:
		return k.impossible(func(q *Spec) { q.Reference = nil }, "%s would break whole plots up", words.Count(len(k.Reference), "reference run"))
	case settings < 2:
		return k.impossible(func(q *Spec) { q.WholePlots = nil }, "all treatments have one setting of the hard-to-change factors: there are no whole plots to compare")
	case k.Runs > 0 && k.Runs < leastPlotRuns:
		return k.impossible(func(q *Spec) { q.Runs = leastPlotRuns },
			"whole plots keep 2 runs together at least, and a block holds two of them to compare: %d runs; you have %d", leastPlotRuns, k.Runs)
	case k.Blocks*(w-1) < settings-1:
		return k.impossible(func(q *Spec) { q.Blocks = (settings + w - 3) / (w - 1) },
			"%d settings of the hard-to-change factors, %d in each block, need at least %s to be compared; you have %d",
			settings, w, words.Count((settings+w-3)/(w-1), "block"), k.Blocks)
	}
	return nil
}

func (k plotDesign) model() loss.Model {
	m := k.blockDesign.model()
	m.Plots = k.WholePlots
	return m
}

// names has settings with as many treatments exchanged, and treatments within each.
func (k plotDesign) names() naming {
	if k.Effects != nil { // treatments are not alike
		return naming{}
	}
	return newNaming(k.settings()...)
}

// holds does not look at sessions: they need not be even where whole plots stay together.
func (k plotDesign) holds(flat []int32) error { return k.together(flat) }

// efficiencyOverPositions is the efficiency of a design with means of positions and of whole plots in the
// model. Exchanging names and positions as the kind does makes no difference to it.
func (k plotDesign) efficiencyOverPositions(design []int32) (float64, error) {
	order := split(design, k.runsPerBlock())
	trace := information.TraceInPlots(k.Treatments, k.WholePlots, k.Effects, order, true)
	if math.IsInf(trace, 1) {
		return 0, k.confounded()
	}
	return information.TraceInPlots(k.Treatments, k.WholePlots, k.Effects, order, false) / trace, nil
}
