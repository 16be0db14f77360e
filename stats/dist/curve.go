package dist

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
	f      func(x float64) float64
	lo, hi float64
	panels []atomic.Pointer[panel]
}

const (
	panelWidth  = 0.5
	panelDegree = 19
)

// panel holds the Chebyshev coefficients of one panel.
type panel [panelDegree + 1]float64

func newCurve(lo, hi float64, f func(x float64) float64) *curve {
	n := int(math.Ceil((hi - lo) / panelWidth))
	return &curve{f: f, lo: lo, hi: hi, panels: make([]atomic.Pointer[panel], n)}
}

// at returns the function at x; outside [lo, hi) it calls the function itself.
func (c *curve) at(x float64) float64 {
	if !(x >= c.lo && x < c.hi) {
		return c.f(x)
	}
	u := (x - c.lo) / panelWidth
	i := int(u)
	p := c.panels[i].Load()
	if p == nil {
		p = c.build(i)
		c.panels[i].Store(p)
	}
	// Clenshaw's recurrence at t in [-1, 1).
	t := 2*(u-float64(i)) - 1
	b1, b2 := 0.0, 0.0
	for k := panelDegree; k > 0; k-- {
		b1, b2 = p[k]+2*t*b1-b2, b1
	}
	return p[0] + t*b1 - b2
}

// chebyshevCos[i][k] is cos(π k (i+1/2) / (panelDegree+1)).
var chebyshevCos = func() (c [panelDegree + 1][panelDegree + 1]float64) {
	for i := range c {
		for k := range c[i] {
			c[i][k] = math.Cos(math.Pi * float64(k) * (float64(i) + 0.5) / (panelDegree + 1))
		}
	}
	return c
}()

// build interpolates panel i at the zeros of the Chebyshev polynomial.
func (c *curve) build(i int) *panel {
	var p panel
	mid := c.lo + (float64(i)+0.5)*panelWidth
	for j := range chebyshevCos {
		y := c.f(mid + panelWidth/2*chebyshevCos[j][1])
		for k := range p {
			p[k] += 2 * y * chebyshevCos[j][k] / (panelDegree + 1)
		}
	}
	p[0] /= 2
	return &p
}
