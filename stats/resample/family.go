package resample

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
}

func (c *contrasts) add(weights []float64) {
	if c.from == nil {
		c.from = []int32{0}
	}
	for t, w := range weights {
		if w != 0 {
			c.at = append(c.at, int32(t))
			c.weight = append(c.weight, w)
		}
	}
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
