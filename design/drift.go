package design

// Drift says which change over the runs of a block the order guards against and the analysis
// takes out. A plan without a drift model is given DriftLinear, shared by the blocks: benches warm
// up and packs sag, and one slope costs one degree of freedom.
type Drift struct {
	Model  string // DriftNone, DriftLinear, DriftQuadratic or DriftPosition
	Shared bool   // false: each block drifts at its own rate
}

// Drift models.
const (
	DriftNone      = "none"      // no drift: random order, nothing taken out
	DriftLinear    = "linear"    // a slope over position
	DriftQuadratic = "quadratic" // a slope and a curvature over position
	DriftPosition  = "position"  // any shape over position, the same in every block
)
