package design

// Rig is the bench, and where what it was measured to scatter is kept. It is no part of the plan's
// meaning: neither the draw nor the verdict depends on it.
type Rig struct {
	Name      string // "the rig" when the plan does not say
	NoiseFile string // the noise record, as the plan writes it: a path that begins at the plan's folder
	Path      string // the same for this process
}
