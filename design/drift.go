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
