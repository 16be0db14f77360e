package order

// criterion is the loss that drift causes to an order. An order is given flat, block after
// block, without its fixed runs.
type criterion interface {
	// loss returns the loss, +Inf if drift takes all information on some comparison.
	loss(flat []int32, w *scratch) float64
	// within reports whether the loss is within the limit. It is what a candidate costs.
	within(flat []int32, l limit, w *scratch) bool
	// comparisons returns the number of independent comparisons.
	comparisons() int
	scratch() *scratch
}

// scratch is the memory that a criterion works in; one for each goroutine.
type scratch struct {
	sums    []int64   // scores summed over the runs of each treatment, one column a drift term
	columns []float64 // the same, scaled, as comparisons
	square  []float64 // a product of columns with themselves
	product []float64 // another
	raw     []float64 // where whole plots are in the model: columns by treatment, one a drift term
	gram    []float64 // and the products of the drift terms of a block
}

// limit is a threshold on the loss, widened a little so that orders whose losses are equal but for
// rounding fall on the same side, and the λ that it means where there is one drift term in complete blocks.
type limit struct {
	loss   float64
	lambda float64
}

func limitAt(threshold float64, comparisons int) limit {
	l := limit{loss: threshold*(1+1e-9) + 1e-12}
	t := l.loss * float64(comparisons)
	l.lambda = t / (1 + t)
	return l
}
