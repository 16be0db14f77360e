package loss

// Criterion is the loss that drift causes to an order. An order is given flat, block after
// block, without its fixed runs.
type Criterion interface {
	// Loss returns the loss, +Inf if drift takes all information on some comparison.
	Loss(flat []int32, w *Scratch) float64
	// Within reports whether the loss is within the limit. It is what a candidate costs.
	Within(flat []int32, l Limit, w *Scratch) bool
	// Comparisons returns the number of independent comparisons.
	Comparisons() int
	// Scratch returns memory to work in.
	Scratch() *Scratch
}

// Scratch is the memory that a criterion works in; one for each goroutine.
type Scratch struct {
	sums    []int64   // scores summed over the runs of each treatment, one column a drift term
	columns []float64 // the same, scaled, as comparisons
	square  []float64 // a product of columns with themselves
	product []float64 // another
	raw     []float64 // where whole plots are in the model: columns by treatment, one a drift term
	gram    []float64 // and the products of the drift terms of a block
}

// Limit is a threshold on the loss, widened a little so that orders whose losses are equal but for
// rounding fall on the same side, and the λ that it means where there is one drift term in complete blocks.
type Limit struct {
	Loss   float64
	lambda float64
}

// LimitAt returns the limit of a threshold, for so many independent comparisons.
func LimitAt(threshold float64, comparisons int) Limit {
	l := Limit{Loss: threshold*(1+1e-9) + 1e-12}
	t := l.Loss * float64(comparisons)
	l.lambda = t / (1 + t)
	return l
}
