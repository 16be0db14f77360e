package linmod

import (
	"fmt"
	"math"
)

// Result is a fitted model. It refers to the columns of the model and to the
// response it was fitted to, which must not change while the result is in use.
// Its methods may be called at the same time.
type Result struct {
	N      int     // rows used
	Rank   int     // independent columns, the constant among them
	DF     int     // residual: N - Rank; 0 when nothing is left to estimate noise from
	RSS    float64 // residual sum of squares; 0 when it is no more than rounding makes
	TSS    float64 // sum of squares about the mean of the rows used
	Sigma2 float64 // residual mean square, RSS/DF; NaN when DF is 0
	Used   []bool  // of each row: whether it has a response, every factor and every covariate

	design   *design
	y        []float64
	rounding float64   // a sum of squares up to this may be all rounding
	swept    *swept    // x reduced to the triangle
	tri      *triangle // of the columns of swept.x, z the rotated response
}

// Fit fits a model to a response by least squares. Rows whose response or a
// covariate is NaN, or that lack the code of a factor, are left out.
//
// A model that leaves no residual degrees of freedom, a factor of which only one
// level has rows and a term that other terms explain are all answers, not
// errors: DF is 0, the row of the analysis of variance has 0 degrees of freedom,
// an estimate is not estimable. The errors wrap ErrNoRows, ErrInfinite or
// ErrTooLarge.
//
// Fit panics if a column does not have a row for each entry of y, or a code is
// not among the levels of its factor.
func Fit(m Model, y []float64) (*Result, error) {
	m.check(len(y))
	rows, err := m.complete(y)
	if err != nil {
		return nil, err
	}
	d, err := newDesign(m, rows, y)
	if err != nil {
		return nil, err
	}
	r := &Result{N: len(rows), Used: make([]bool, len(y)), design: d, y: y}
	for _, row := range rows {
		r.Used[row] = true
	}
	if r.TSS = d.total(y); math.IsInf(r.TSS, 0) || math.IsNaN(r.TSS) {
		return nil, fmt.Errorf("square of the response: %w", ErrInfinite)
	}
	r.swept = d.sweep(d.sweeping())
	r.tri = reduce(r.swept.x, r.swept.y, r.swept.scale)
	r.Rank = r.swept.by.levels() + r.tri.rank()
	r.DF = r.N - r.Rank
	var rss sum
	rss.addSquares(r.tri.z[r.tri.rank():])
	r.RSS = rss.value()
	r.rounding = d.roundingError(y)
	if r.DF == 0 || r.RSS <= r.rounding {
		r.RSS = 0
	}
	r.Sigma2 = r.RSS / float64(r.DF)
	return r, nil
}

// total returns the sum of squares about the mean.
func (d *design) total(y []float64) float64 {
	var ss sum
	for _, row := range d.cells.rows {
		v := y[row] - d.centre
		ss.add(v * v)
	}
	return ss.value()
}

// roundingError bounds the sum of squares that rounding alone makes where exact
// arithmetic has zero. In every row it allows for one unit in the last place of
// the largest response, the rounding of the data, and sixteen of the largest
// deviation from the mean, the rounding of the fit.
func (d *design) roundingError(y []float64) float64 {
	const ulp = 0x1p-52
	var largest, spread float64
	for _, row := range d.cells.rows {
		largest = max(largest, math.Abs(y[row]))
		spread = max(spread, math.Abs(y[row]-d.centre))
	}
	e := ulp*largest + 16*ulp*spread
	return float64(len(d.cells.rows)) * e * e
}
