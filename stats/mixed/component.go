package mixed

// Component is a part of the variance of a response.
type Component struct {
	Name     string // of the random factor, or "residual"
	Levels   int    // with a used row; of the residual: the rows
	Variance float64
	SD       float64
	SE       float64 // of Variance, by the expected information; see Intervals
}
