package resample

import (
	"errors"
	"math"

	"fairrun/stats/linmod"
)

var (
	// ErrConfounded reports that blocks and drift account for every difference
	// between the treatments.
	ErrConfounded = errors.New("the treatments cannot be distinguished from blocks and drift in these runs")

	// ErrNoNoise reports that no residual variation is left to hold differences
	// against: too few runs, or a response that blocks, drift and treatments fit
	// exactly.
	ErrNoNoise = errors.New("blocks, drift and treatments leave no noise to compare differences with")

	// ErrNotDrawn reports that the drawn order is not among the orders listed.
	ErrNotDrawn = errors.New("the order that was run is not among the orders that might have been drawn")

	// ErrTooLarge reports more comparisons and orders than there is memory for.
	ErrTooLarge = errors.New("too many comparisons for so many orders")
)

// Design says which runs there are, what they were given, and what is asked of
// them. It is not changed by use.
type Design struct {
	// Slots holds the blocks and drift columns of every run slot, in any fixed
	// sequence of slots, and no treatment factors.
	Slots linmod.Model

	Treatments int
	Drawn      []int32 // treatment of each slot, 0 … Treatments−1, as drawn

	// Plots, if not nil, is the whole plot of each slot, by any number: the slots
	// whose runs the draw moves as one, which share a noise of their own. Every
	// comparison is then judged by the noise of its stratum.
	Plots []int32

	// Effects, if not nil, restricts the effects of the treatments to the span
	// of its columns: a row for each treatment. Two factors without interaction
	// have the indicators of the levels of both. Nil: each treatment has its own.
	Effects [][]float64

	Families []Family

	// Alpha is the level of the intervals, each family's simultaneous at
	// 1−Alpha; a family of one comparison has its own interval. 0: no intervals.
	// For intervals about Treatments² + 3·comparisons numbers are kept of every
	// order, otherwise nothing.
	Alpha float64
}

const (
	panicFactors = "resample: the model of the slots has treatment factors"
	panicLength  = "resample: slots, treatments, whole plots and response differ in length"
	panicCode    = "resample: treatment out of range"
	panicEffects = "resample: Effects needs a row for each treatment, all of one length"
	panicWeights = "resample: a comparison needs a weight for each treatment, not all zero, that add to zero"
	panicAlpha   = "resample: Alpha must lie in [0, 1)"
)

// maxContrasts bounds the comparisons of a design: an order takes time that
// grows with the square of their number.
const maxContrasts = 500

// check panics unless the design is sound in shape.
func (d *Design) check(n int) {
	if len(d.Slots.Factors) > 0 {
		panic(panicFactors)
	}
	if len(d.Drawn) != n || d.Plots != nil && len(d.Plots) != n {
		panic(panicLength)
	}
	for _, t := range d.Drawn {
		if t < 0 || int(t) >= d.Treatments {
			panic(panicCode)
		}
	}
	if d.Effects != nil && len(d.Effects) != d.Treatments {
		panic(panicEffects)
	}
	for _, row := range d.Effects {
		if len(row) != len(d.Effects[0]) {
			panic(panicEffects)
		}
	}
	for _, f := range d.Families {
		for _, weights := range f.Contrasts {
			if len(weights) != d.Treatments || !isContrast(weights) {
				panic(panicWeights)
			}
		}
	}
	if !(d.Alpha >= 0 && d.Alpha < 1) {
		panic(panicAlpha)
	}
}

// isContrast reports whether weights add to zero but for rounding, and are not
// all zero.
func isContrast(weights []float64) bool {
	var sum, size float64
	for _, w := range weights {
		sum += w
		size += math.Abs(w)
	}
	return size > 0 && math.Abs(sum) <= 1e-12*size
}

// contrasts counts the comparisons of all families.
func (d *Design) contrasts() int {
	m := 0
	for _, f := range d.Families {
		m += len(f.Contrasts)
	}
	return m
}
