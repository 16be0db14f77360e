package resample

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"fairrun/stats/linmod"
)

var (
	// ErrConfounded reports that blocks and drift account for every difference
	// between the treatments.
	ErrConfounded = errors.New("the treatments cannot be told apart from blocks and drift in these runs")

	// ErrNoNoise reports that no residual variation is left to hold differences
	// against: too few runs, or a response that blocks, drift and treatments fit
	// exactly.
	ErrNoNoise = errors.New("blocks, drift and treatments leave no noise to hold differences against")

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

	// Effects, if not nil, restricts the effects of the treatments to the span
	// of its columns: a row for each treatment. Two factors without interaction
	// have the indicators of the levels of both. Nil: each treatment has its own.
	Effects [][]float64

	Families []Family

	// Alpha is the level of the intervals, each family's simultaneous at
	// 1−Alpha. 0: no intervals.
	Alpha float64
}

const (
	panicFactors = "resample: the model of the slots has treatment factors"
	panicLength  = "resample: slots, treatments and response differ in length"
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
	if len(d.Drawn) != n {
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

// Test is a response with blocks and drift projected out, ready to be held
// against other orders. It is not changed by use.
type Test struct {
	lay *layout

	// All on the scale of the largest |e|, which scale is.
	scale float64
	rest  []float64 // residual of the whole model by used slot
	rss   float64   // its sum of squares
	tau   []float64 // effects of the treatments, up to what is not estimable
	ss    float64   // sum of squares of the treatments

	theta []float64   // estimate of each comparison
	zero  [][]float64 // of each family: effects left when it is taken to be zero
	famSS []float64   // of each family: its sum of squares
}

// Test projects blocks and drift out of a response, given by slot, NaN where
// there is none. Slots whose block or covariate is missing are left out too.
//
// The errors wrap ErrConfounded, ErrNoNoise, ErrTooLarge or an error of linmod.
// Test panics if columns differ in length, a treatment is out of range or a comparison
// is not a contrast.
func (d *Design) Test(y []float64) (*Test, error) {
	d.check(len(y))
	if m := d.contrasts(); m > maxContrasts {
		return nil, fmt.Errorf("%d comparisons: %w", m, ErrTooLarge)
	}
	fit, err := linmod.Fit(d.Slots, y)
	if err != nil {
		return nil, err
	}
	lay, err := newLayout(d, fit)
	if err != nil {
		return nil, err
	}
	e := make([]float64, len(lay.used))
	var largest float64
	t := &Test{lay: lay}
	for i, r := range residuals(fit, lay.used) {
		e[i] = r
		t.scale = max(t.scale, math.Abs(r))
		largest = max(largest, math.Abs(y[lay.used[i]]))
	}
	if fit.RSS == 0 {
		return nil, ErrNoNoise
	}
	for i := range e {
		e[i] /= t.scale
	}
	t.fit(e)
	// What the rounding of the response alone leaves is no noise.
	if r := 4 * 0x1p-52 * (largest/t.scale + 1); t.rss <= float64(len(e))*r*r {
		return nil, ErrNoNoise
	}
	return t, nil
}

// residuals returns the residuals of the used slots.
func residuals(fit *linmod.Result, used []int32) []float64 {
	all := fit.Residuals()
	e := make([]float64, len(used))
	for i, slot := range used {
		e[i] = all[slot]
	}
	return e
}

// fit fits the drawn order to the projected response.
func (t *Test) fit(e []float64) {
	l := t.lay
	s := make([]float64, l.treatments)
	for i, k := range l.drawn {
		s[k] += e[i]
	}
	t.tau = make([]float64, l.treatments)
	multiply(t.tau, l.info.b, s)
	t.ss = dot(s, t.tau)
	t.rest = slices.Clone(e)
	l.subtract(t.rest, t.tau)
	t.rss = dot(t.rest, t.rest)

	t.theta = make([]float64, len(l.v))
	for k := range t.theta {
		if l.estimable(k) {
			t.theta[k] = l.contrasts.value(k, t.tau)
		}
	}
	for f := range l.families {
		zero, ss := l.families[f].constrain(t.tau)
		t.zero = append(t.zero, zero)
		t.famSS = append(t.famSS, ss)
	}
}
