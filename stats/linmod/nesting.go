package linmod

// blockShares returns the weight of each used level of block i in an average
// over blocks. Levels weigh equally, but for a block that others lie within, as
// packs lie within sessions: there the levels of the finest such block weigh
// equally, and a session weighs as many of them as it holds. Averaging over pairs
// of session and pack that cannot occur would leave nothing to estimate.
func (d *design) blockShares(i int) []float64 {
	own := &d.blocks[i]
	share := make([]float64, own.levels())
	finest := i
	for k := range d.blocks {
		if d.blocks[k].levels() > d.blocks[finest].levels() && d.blocks[k].within(own) {
			finest = k
		}
	}
	fine := &d.blocks[finest]
	counted := make([]bool, fine.levels())
	for c, l := range fine.code {
		if !counted[l] {
			counted[l] = true
			share[own.code[c]] += 1 / float64(fine.levels())
		}
	}
	return share
}

// within reports whether every level of c lies within one level of another
// category.
func (c *category) within(other *category) bool {
	in := make([]int32, c.levels())
	for l := range in {
		in[l] = -1
	}
	for cell, l := range c.code {
		if in[l] < 0 {
			in[l] = other.code[cell]
		} else if in[l] != other.code[cell] {
			return false
		}
	}
	return true
}
