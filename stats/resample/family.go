package resample

import (
	"math"
	"slices"
)

// Family is a set of comparisons whose error rate is held together.
type Family struct {
	// Contrasts holds a row of weights over the treatments, adding to zero, for
	// each comparison.
	Contrasts [][]float64
}

// Pairs compares every level with every earlier one, in the sequence 1−0, 2−0,
// …, 2−1, …. A level is a list of treatments, whose mean weights them equally:
// the level of one factor among combinations of several. Without levels, every
// treatment is one.
func Pairs(treatments int, levels ...[]int) Family {
	levels = orEach(treatments, levels)
	var f Family
	for i := range levels {
		for j := i + 1; j < len(levels); j++ {
			f.Contrasts = append(f.Contrasts, difference(treatments, levels[j], levels[i]))
		}
	}
	return f
}

// Against compares every other level with the baseline, given by its index. It
// takes levels as Pairs does.
func Against(treatments, baseline int, levels ...[]int) Family {
	levels = orEach(treatments, levels)
	var f Family
	for k := range levels {
		if k != baseline {
			f.Contrasts = append(f.Contrasts, difference(treatments, levels[k], levels[baseline]))
		}
	}
	return f
}

// orEach returns levels, or if there are none every treatment as one.
func orEach(treatments int, levels [][]int) [][]int {
	if len(levels) > 0 {
		return levels
	}
	for t := range treatments {
		levels = append(levels, []int{t})
	}
	return levels
}

// difference is the mean of the treatments in a less that of those in b.
func difference(treatments int, a, b []int) []float64 {
	weights := make([]float64, treatments)
	for _, t := range a {
		weights[t] += 1 / float64(len(a))
	}
	for _, t := range b {
		weights[t] -= 1 / float64(len(b))
	}
	return weights
}

// contrasts holds the weights of comparisons without their zeros.
type contrasts struct {
	from   []int32 // comparison k has the terms from[k] … from[k+1]−1
	at     []int32 // treatment
	weight []float64
	half   []float64 // of each comparison: half the sum of |weights|
}

func (c *contrasts) add(weights []float64) {
	if c.from == nil {
		c.from = []int32{0}
	}
	var size float64
	for t, w := range weights {
		if w != 0 {
			c.at = append(c.at, int32(t))
			c.weight = append(c.weight, w)
			size += math.Abs(w)
		}
	}
	c.half = append(c.half, size/2)
	c.from = append(c.from, int32(len(c.at)))
}

// value returns comparison k of the effects tau.
func (c *contrasts) value(k int, tau []float64) float64 {
	var v float64
	for i := c.from[k]; i < c.from[k+1]; i++ {
		v += c.weight[i] * tau[c.at[i]]
	}
	return v
}

// addScaled adds to dst the sum of the rows of a square matrix, weighted as
// comparison k, times f.
func (c *contrasts) addScaled(dst []float64, f float64, k int, rows []float64) {
	n := len(dst)
	for i := c.from[k]; i < c.from[k+1]; i++ {
		w := f * c.weight[i]
		for j, v := range rows[int(c.at[i])*n : int(c.at[i])*n+n] {
			dst[j] += w * v
		}
	}
}

// variance returns ℓ'bℓ of comparison k for a square matrix b of n rows.
func (c *contrasts) variance(k int, b []float64, n int) float64 {
	at, weight := c.at[c.from[k]:c.from[k+1]], c.weight[c.from[k]:c.from[k+1]]
	var v float64
	for i, s := range at {
		row := b[int(s)*n : int(s)*n+n]
		for j, t := range at {
			v += weight[i] * weight[j] * row[t]
		}
	}
	return v
}

// largest returns the largest value²/variance of comparisons from … to−1.
func (c *contrasts) largest(from, to int, tau, variance []float64) float64 {
	var z float64
	for k := from; k < to; k++ {
		v := c.value(k, tau)
		z = max(z, v*v/variance[k])
	}
	return z
}

// sharpest returns the largest sum of squares, value²/variance, that comparisons
// from … to−1 can have of effects with a range of one: a comparison is at most
// half the sum of its |weights| times the range.
func (c *contrasts) sharpest(from, to int, variance []float64) float64 {
	var z float64
	for k := from; k < to; k++ {
		z = max(z, c.half[k]*c.half[k]/variance[k])
	}
	return z
}

// anyReaches reports whether the value²/variance of any comparison from … to−1
// reaches the bar. sharpest is theirs.
func (c *contrasts) anyReaches(bar float64, from, to int, tau, variance []float64, sharpest float64) bool {
	reach := slices.Max(tau) - slices.Min(tau)
	if reach*reach*sharpest*(1+tie) < bar {
		return false
	}
	for k := from; k < to; k++ {
		v := c.value(k, tau)
		if v*v >= bar*variance[k] {
			return true
		}
	}
	return false
}
