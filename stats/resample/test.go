package resample

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/linmod"
)

// Test is a response with blocks and drift projected out, ready to be held
// against other orders. It is not changed by use.
type Test struct {
	lay *layout

	// All on the scale of the largest |e|, which scale is.
	scale float64
	rest  []float64 // residual of the whole model by used slot; with whole plots times its weights
	rss   float64   // sum of squares of the residual, weighted
	tau   []float64 // effects of the treatments, up to what is not estimable
	ss    float64   // sum of squares of the treatments

	theta []float64   // estimate of each comparison
	zero  [][]float64 // of each family: effects left when it is taken to be zero
	famSS []float64   // of each family: its sum of squares
	plots *plotTest   // nil without whole plots
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
	var plotY []float64
	if lay.plots != nil {
		plotY = lay.plots.project(&lay.basis, e)
		lay.plots.weigh(&lay.basis, e)
	}
	t.fit(e)
	// What the rounding of the response alone leaves is no noise.
	if r := 4 * 0x1p-52 * (largest/t.scale + 1); t.rss <= float64(len(e))*r*r {
		return nil, ErrNoNoise
	}
	if lay.plots != nil {
		t.plots = t.newPlotTest(plotY)
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
