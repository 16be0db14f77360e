package judge

// Model is what all campaigns of a plan have in common. Its slots are Blocks times Length places,
// block after block.
type Model struct {
	Blocks, Length int
	Drift          []Drift
	Positions      bool        // each position of a block has an effect of its own
	CarryOver      []Factor    // whose level in the run before has an effect too: none in the first of a block
	Noted          [][]float64 // of each covariate: by slot. The values may change between fits
	Factors        []Factor    // whose levels are compared, a family each
}

// Drift is a course over a block that the model takes out, up to its size.
type Drift struct {
	Value []float64 // by slot
	Own   bool      // of another size in each block
}

// Factor is what a family of comparisons is about: a term of the model or, beside one of all treatments, averages of it.
type Factor struct {
	Levels   int
	Code     []int // level of each treatment
	Baseline int   // level, or -1

	// Average says that the levels are no term of their own but means over those of the first factor, which are the
	// treatments: all with the level count alike. Levels of which some treatment has no good run do not take part.
	Average bool
	Trends  bool // the verdict has trends over the levels, which are numbers
}

// slots returns the number of places in the order.
func (m *Model) slots() int { return m.Blocks * m.Length }

// Fitted is a fit to one order: one response after another is solved.
type Fitted interface {
	// Solve fits a response, its values by slot, and fills in the estimates of each factor. Values
	// of slots that are not good are not looked at.
	Solve(y []float64, out []Estimates)
	// Precision is that of the comparisons of factor k for the response solved last. It holds
	// until the next order.
	Precision(k int) *Precision
}
