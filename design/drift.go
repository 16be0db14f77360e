package design

// Drift says which change over the runs of a block the order guards against and the analysis
// takes out. A plan without a drift model is given DriftLinear, one slope for all blocks: benches warm
// up and packs sag, and one slope costs one degree of freedom.
type Drift struct {
	Model string `json:"model"` // DriftNone, DriftLinear, DriftQuadratic, DriftCurve or DriftPosition
	Own   bool   `json:"own"`   // each block drifts at its own rate; false: all blocks drift alike
}

// Drift models.
const (
	DriftNone      = "none"      // no drift: random order, nothing taken out
	DriftLinear    = "linear"    // a slope over position
	DriftQuadratic = "quadratic" // a slope and a curvature over position
	DriftCurve     = "curve"     // a parabola that bends otherwise in the first and the last third of a block
	DriftPosition  = "position"  // any shape over position, the same in every block
)

// parameters returns the number of columns the drift adds to the model, given the blocks: the
// slope, the slope and curvature, these and two bends, or the positions but one. A block of k runs tells at most k-1.
func (d Drift) parameters(blocks, runsPerBlock int) int {
	n := 0
	switch d.Model {
	case DriftLinear:
		n = 1
	case DriftQuadratic:
		n = 2
	case DriftCurve:
		n = curveTerms
	case DriftPosition:
		return runsPerBlock - 1
	}
	n = min(n, runsPerBlock-1)
	if d.Own {
		n *= blocks
	}
	return n
}

// ProposedDrift is the drift that a new plan is given: position, which no course of heat breaks, where there are as many
// blocks as treatments, so that each treatment can stand in each position as often; otherwise a curve, where blocks are long enough
// for one. Plans too small for either get a parabola or a line. It is chosen before any result.
func ProposedDrift(treatments, blocks, runsPerBlock int) string {
	left := func(model string) int {
		return blocks*(runsPerBlock-1) - (treatments - 1) - Drift{Model: model}.parameters(blocks, runsPerBlock)
	}
	const enough = 4 // degrees of freedom: with fewer, intervals grow by more than what heat bends
	switch {
	case blocks >= treatments && blocks > 1 && left(DriftPosition) >= enough:
		return DriftPosition
	case runsPerBlock >= CurveRuns && left(DriftCurve) >= enough:
		return DriftCurve
	case runsPerBlock < CurveRuns && blocks > 1 && left(DriftPosition) >= enough:
		return DriftPosition
	case runsPerBlock > 2 && left(DriftQuadratic) >= enough:
		return DriftQuadratic
	}
	return DriftLinear
}
