package design

import (
	"slices"
)

// Folded returns the factors whose levels are exchanged; nil for all.
func (c *Plan) Folded(which string) []int {
	for i, f := range c.Factors {
		if which == f.Name {
			return []int{i}
		}
	}
	return nil
}

// Mirrored returns the levels of a treatment with those of the folded factors exchanged.
func (c *Plan) Mirrored(levels []string) []string {
	folded := c.Folded(c.Order.Screen.FoldOver)
	out := slices.Clone(levels)
	for i, f := range c.Factors {
		if folded == nil || slices.Contains(folded, i) {
			out[i] = f.Levels[1-slices.Index(f.Levels, levels[i])]
		}
	}
	return out
}

// FoldedApart reports whether the plan's fold-over has blocks of its own.
func (c *Plan) FoldedApart() bool {
	return c.Order.Screen != nil && c.Order.Screen.FoldBlocks != nil
}

// Mirror returns the treatments, as indexes into Treatments, that the blocks of the fold-over hold:
// the mirror image of the first, of the second, …; nil where the fold-over has no blocks of its own.
// The other blocks hold the first treatments, as many.
func (c *Plan) Mirror() []int {
	if !c.FoldedApart() {
		return nil
	}
	mirror := make([]int, c.TreatmentsPerBlock())
	for i := range mirror {
		image := c.Mirrored(c.Chosen[i])
		mirror[i] = slices.IndexFunc(c.Chosen, func(t []string) bool { return slices.Equal(t, image) })
	}
	return mirror
}

// TreatmentsPerBlock returns the number of treatments that a block draws on: all, or where the
// fold-over has blocks of its own those of the runs or of their mirror image. Of regular fractions
// these are halves, runs and mirror image having none in common.
func (c *Plan) TreatmentsPerBlock() int {
	switch {
	case !c.FoldedApart():
		return c.CountTreatments()
	case c.Order.Screen.PlackettBurman > 0:
		return c.Order.Screen.PlackettBurman
	}
	return len(c.Chosen) / 2
}
