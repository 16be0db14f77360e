package loss

import (
	"math"

	"fairrun/design/internal/dense"
)

// CompleteBlocks is the criterion of complete blocks whose comparisons all count alike.
//
// Let s be the matrix with one column for each drift term and one row for each
// treatment, holding the sum of the term's scores over the positions of the treatment. With
// every treatment R times in each of B blocks, the information on the treatments is
//
//	C = BR(I − J/T) − Σ s sᵀ / |term|²
//
// and, with λ the eigenvalues of the m×m matrix V of products of the columns of s, each divided by
// |term|·√(BR), the loss is
//
//	loss = (tr V(I − V)⁻¹) / (T − 1) = (Σ λ/(1 − λ)) / (T − 1).
//
// The sums are integers.
type CompleteBlocks struct {
	treatments, blocks, runs int       // runs of a block
	degree                   int       // drift terms of a block
	own                      bool      // each block has drift terms of its own
	terms                    int       // m: columns of s
	side                     int       // the smaller of T and m
	scores                   []int64   // degree×runs
	scale                    []float64 // 1/(|term|·√(BR)), one for each degree
}

// NewCompleteBlocks returns the criterion of blocks that hold every treatment so many times.
func NewCompleteBlocks(treatments, blocks, replicates, degree int, own bool) *CompleteBlocks {
	n := treatments * replicates
	c := &CompleteBlocks{treatments: treatments, blocks: blocks, runs: n, degree: degree, own: own}
	c.terms = c.degree * blocks
	length := 1 // blocks over which a term runs
	if !own {
		c.terms, length = c.degree, blocks
	}
	c.side = min(c.terms, treatments)
	all := float64(blocks * replicates)
	// Σ s² ≤ |term|²·BR for each term, and must fit an int64.
	for _, row := range scores(n, c.degree, (1<<62)/(float64(length)*all)) {
		c.scores = append(c.scores, row...)
		c.scale = append(c.scale, 1/math.Sqrt(float64(length)*sumOfSquares(row)*all))
	}
	return c
}

func (c *CompleteBlocks) Scratch() *Scratch {
	return &Scratch{
		sums:    make([]int64, c.terms*c.treatments),
		square:  make([]float64, c.side*c.side),
		columns: make([]float64, c.treatments),
	}
}

func (c *CompleteBlocks) Comparisons() int { return c.treatments - 1 }

// Within reports whether the loss of an order is within the limit. It is what a draw costs, so it
// stops as soon as the first terms of Σ λ/(1 − λ) = Σ λ + Σ λ² + … are beyond it.
func (c *CompleteBlocks) Within(flat []int32, l Limit, w *Scratch) bool {
	switch {
	case c.terms == 0:
		return true
	case c.terms == 1:
		return c.oneTerm(flat, w) <= l.lambda
	}
	c.sum(flat, w)
	c.fillSquare(w)
	k := c.side
	var first, second float64
	for a := range k {
		v := w.square[a*k : a*k+a+1]
		for _, u := range v[:a] {
			second += float64(u * u)
		}
		first += v[a]
		second += float64(v[a]*v[a]) / 2
	}
	if first+2*second > l.Loss*float64(c.treatments-1) {
		return false
	}
	return c.lossOfSquare(w) <= l.Loss
}

// Loss returns the loss of an order, +Inf if drift takes all information on some comparison.
func (c *CompleteBlocks) Loss(flat []int32, w *Scratch) float64 {
	if c.terms == 0 {
		return 0
	}
	c.sum(flat, w)
	c.fillSquare(w)
	return c.lossOfSquare(w)
}

// oneTerm returns λ when there is one drift term.
func (c *CompleteBlocks) oneTerm(flat []int32, w *Scratch) float64 {
	c.sum(flat, w)
	var sum int64
	for _, v := range w.sums {
		sum += v * v
	}
	return float64(float64(sum)*c.scale[0]) * c.scale[0]
}

// sum fills w.sums, column by column of s.
func (c *CompleteBlocks) sum(flat []int32, w *Scratch) {
	clear(w.sums)
	sums := w.sums
	for len(flat) > 0 {
		block := flat[:c.runs]
		for k := range c.degree {
			score := c.scores[k*c.runs : (k+1)*c.runs]
			column := sums[k*c.treatments : (k+1)*c.treatments]
			for i, t := range block {
				column[t] += score[i]
			}
		}
		if c.own {
			sums = sums[c.degree*c.treatments:]
		}
		flat = flat[c.runs:]
	}
}

// fillSquare fills the lower triangle of w.square with the smaller of the two products of w.sums
// with itself: V, or the T×T matrix that has the same eigenvalues but for zeros.
func (c *CompleteBlocks) fillSquare(w *Scratch) {
	n := c.treatments
	if c.terms <= n {
		for a := range c.terms {
			x := w.sums[a*n : (a+1)*n]
			for b := range a + 1 {
				y := w.sums[b*n : (b+1)*n]
				var sum int64
				for i, v := range x {
					sum += v * y[i]
				}
				w.square[a*c.terms+b] = float64(float64(sum)*c.scale[a%c.degree]) * c.scale[b%c.degree]
			}
		}
		return
	}
	clear(w.square)
	for a := range c.terms {
		x := w.columns
		for i, v := range w.sums[a*n : (a+1)*n] {
			x[i] = float64(float64(v) * c.scale[a%c.degree])
		}
		for i, u := range x {
			row := w.square[i*n : i*n+i+1]
			for j := range row {
				row[j] += float64(u * x[j])
			}
		}
	}
}

// lossOfSquare returns the loss from w.square, which it overwrites.
func (c *CompleteBlocks) lossOfSquare(w *Scratch) float64 {
	k := c.side
	for i := range k {
		row := w.square[i*k : i*k+i+1]
		for j := range row {
			row[j] = -row[j]
		}
		row[i]++
	}
	trace := dense.TraceInverse(w.square, k, 1)
	if math.IsInf(trace, 1) {
		return trace
	}
	return max(0, trace-float64(k)) / float64(c.treatments-1)
}
