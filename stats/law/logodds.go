package law

import (
	"math"
	"sync"
)

// logOdds is a table of the law of log(x/(1-x)) for x of the beta law on a and b: that of log(χ²(2a)/χ²(2b)) for independent
// chi-squared laws. Tails down to 1e-9 have a relative error below 1e-4, the larger ones 1e-6.
// It is there to be asked millions of times.
type logOdds struct {
	lo, step float64
	below    []float64 // P(L ≤ node)
	above    []float64 // P(L > node)
	slope    []float64 // density at a node, times step
	fall     float64   // how the tail falls beyond the last node: b
}

const (
	oddsNodes = 2048
	oddsReach = 34 // log of the density at its mode over that at the ends
)

// oddsTables keeps the tables of the laws met.
var oddsTables sync.Map // of [2]float64

// newLogOdds returns the table for a and b, made once.
func newLogOdds(a, b float64) *logOdds {
	if known, ok := oddsTables.Load([2]float64{a, b}); ok {
		return known.(*logOdds)
	}
	t := makeLogOdds(a, b)
	oddsTables.Store([2]float64{a, b}, t)
	return t
}

func makeLogOdds(a, b float64) *logOdds {
	mode := math.Log(a / b)
	log := func(l float64) float64 { // density, but for a constant
		return a*l - (a+b)*(math.Max(l, 0)+math.Log1p(math.Exp(-math.Abs(l))))
	}
	top := log(mode)
	end := func(away float64) float64 {
		for top-log(mode+away) < oddsReach {
			away *= 1.1
		}
		return mode + away
	}
	t := &logOdds{lo: end(-0.1), fall: b, below: make([]float64, oddsNodes), above: make([]float64, oddsNodes), slope: make([]float64, oddsNodes)}
	t.step = (end(0.1) - t.lo) / (oddsNodes - 1)
	for i := range t.slope {
		t.slope[i] = math.Exp(log(t.lo+float64(i)*t.step) - top)
	}
	// The integral over a step by Simpson's rule, the tails beyond the ends as they fall.
	part := func(i int) float64 {
		middle := math.Exp(log(t.lo+(float64(i)+0.5)*t.step) - top)
		return (t.slope[i] + 4*middle + t.slope[i+1]) / 6
	}
	last := oddsNodes - 1
	t.below[0], t.above[last] = t.slope[0]/a/t.step, t.slope[last]/b/t.step
	parts := make([]float64, last)
	for i := range parts {
		parts[i] = part(i)
		t.below[i+1] = t.below[i] + parts[i]
	}
	for i := last - 1; i >= 0; i-- {
		t.above[i] = t.above[i+1] + parts[i]
	}
	all := t.below[last] + t.above[last]
	for i := range t.slope {
		t.below[i] /= all
		t.above[i] /= all
		t.slope[i] /= all
	}
	return t
}

// survival returns P(L > l), by the cubic through the values and slopes at two nodes.
func (t *logOdds) survival(l float64) float64 {
	x := (l - t.lo) / t.step
	switch {
	case !(x > 0):
		return 1
	case x >= oddsNodes-1:
		return t.above[oddsNodes-1] * math.Exp(-t.fall*(x-(oddsNodes-1))*t.step)
	}
	i := int(x)
	u := x - float64(i)
	p, q, m, n := t.above[i], t.above[i+1], -t.slope[i], -t.slope[i+1]
	return p + u*(m+u*(3*(q-p)-2*m-n+u*(2*(p-q)+m+n)))
}

// both returns P(L > l) and the density at l.
func (t *logOdds) both(l float64) (survival, density float64) {
	x := (l - t.lo) / t.step
	switch {
	case !(x > 0):
		return 1, 0
	case x >= oddsNodes-1:
		s := t.above[oddsNodes-1] * math.Exp(-t.fall*(x-(oddsNodes-1))*t.step)
		return s, t.fall * s
	}
	i := int(x)
	u := x - float64(i)
	p, q, m, n := t.above[i], t.above[i+1], -t.slope[i], -t.slope[i+1]
	b, c := 3*(q-p)-2*m-n, 2*(p-q)+m+n
	return p + u*(m+u*(b+u*c)), -(m + u*(2*b+3*u*c)) / t.step
}

// quantiles returns the odds, not their logarithms, at which P(L ≤ l) is (k+½)/n.
func (t *logOdds) quantiles(n int) []float64 {
	out := make([]float64, n)
	i := 0
	for k := range out {
		p := (float64(k) + 0.5) / float64(n)
		for i < oddsNodes-2 && t.below[i+1] < p {
			i++
		}
		u := (p - t.below[i]) / (t.below[i+1] - t.below[i])
		for range 3 { // Newton's steps on the cubic of survival
			p0, p1, m, n := t.below[i], t.below[i+1], t.slope[i], t.slope[i+1]
			value := p0 + u*(m+u*(3*(p1-p0)-2*m-n+u*(2*(p0-p1)+m+n)))
			slope := m + u*(2*(3*(p1-p0)-2*m-n)+3*u*(2*(p0-p1)+m+n))
			if slope > 0 {
				u = min(max(u-(value-p)/slope, 0), 1)
			}
		}
		out[k] = math.Exp(t.lo + (float64(i)+u)*t.step)
	}
	return out
}
