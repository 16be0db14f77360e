package linmod

// category is a factor cut down to the levels that have a used row. Those are
// renumbered without gaps, in the order of the factor.
type category struct {
	code  []int32 // of each cell, in the new numbers
	level []int   // new number to index into Factor.Levels
	index []int32 // index into Factor.Levels to new number, -1 for a level without a row
}

func categorise(f *Factor, cs *cells) category {
	c := category{code: make([]int32, cs.count()), index: make([]int32, len(f.Levels))}
	for l := range c.index {
		c.index[l] = -1
	}
	for k := range c.code {
		c.index[f.Code[cs.first(k)]] = 0
	}
	for l, used := range c.index {
		if used == 0 {
			c.index[l] = int32(len(c.level))
			c.level = append(c.level, l)
		}
	}
	for k := range c.code {
		c.code[k] = c.index[f.Code[cs.first(k)]]
	}
	return c
}

// levels returns the number of levels that have a used row.
func (c *category) levels() int { return len(c.level) }

// constant is the category of one level that holds every cell: sweeping it out
// takes the general mean away.
func constant(cells int) *category {
	return &category{code: make([]int32, cells), level: []int{0}, index: []int32{0}}
}
