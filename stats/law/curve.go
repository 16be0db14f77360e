package law

import (
	"math"
	"sync/atomic"
)

// curve is a smooth function on [lo, hi) that is costly to evaluate: a Chebyshev
// interpolant in panels of equal width, each made when it is first needed. The
// functions here are logarithms of tails of a normal law, which are smooth on the
// scale of one standard deviation; width and degree are chosen so that the
// interpolant is as good as the function (TestCurve).
//
// It is safe for concurrent use.
type curve struct {
	f             func(x float64) float64
	lo, hi, width float64
	node          [][]float64 // node[i][k] is the Chebyshev polynomial k at its zero i
	panels        []atomic.Pointer[[]float64]
}

const (
	panelWidth  = 0.5
	panelDegree = 19
)

// newCurve makes a curve that is as good as its function.
func newCurve(lo, hi float64, f func(x float64) float64) *curve {
	return newCurveOf(lo, hi, panelWidth, panelNode, f)
}

// newCurveOf makes one with panels of the given width and as many nodes as given.
func newCurveOf(lo, hi, width float64, node [][]float64, f func(x float64) float64) *curve {
	n := int(math.Ceil((hi - lo) / width))
	return &curve{f: f, lo: lo, hi: hi, width: width, node: node, panels: make([]atomic.Pointer[[]float64], n)}
}

// at returns the function at x; outside [lo, hi) it calls the function itself.
func (c *curve) at(x float64) float64 {
	if !(x >= c.lo && x < c.hi) {
		return c.f(x)
	}
	u := (x - c.lo) / c.width
	i := int(u)
	stored := c.panels[i].Load()
	if stored == nil {
		made := c.build(i)
		stored = &made
		c.panels[i].Store(stored)
	}
	// Clenshaw's recurrence at t in [-1, 1).
	p := *stored
	t := 2*(u-float64(i)) - 1
	b1, b2 := 0.0, 0.0
	for k := len(p) - 1; k > 0; k-- {
		b1, b2 = p[k]+2*t*b1-b2, b1
	}
	return p[0] + t*b1 - b2
}

var panelNode = chebyshev(panelDegree)

// chebyshev returns cos(π k (i+1/2) / (degree+1)) in row i, column k.
func chebyshev(degree int) [][]float64 {
	c := make([][]float64, degree+1)
	for i := range c {
		for k := range degree + 1 {
			c[i] = append(c[i], math.Cos(math.Pi*float64(k)*(float64(i)+0.5)/float64(degree+1)))
		}
	}
	return c
}

// build returns the Chebyshev coefficients of panel i, interpolated at the zeros of the
// polynomial.
func (c *curve) build(i int) []float64 {
	n := len(c.node)
	p := make([]float64, n)
	mid := c.lo + (float64(i)+0.5)*c.width
	for _, t := range c.node {
		y := c.f(mid + c.width/2*t[1])
		for k := range p {
			p[k] += 2 * y * t[k] / float64(n)
		}
	}
	p[0] /= 2
	return p
}
