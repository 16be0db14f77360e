package design

import (
	"errors"
	"fmt"
	"slices"

	"fairrun/design/order"
	"fairrun/stats/words"
)

// FoldOver returns the plan of a screen with so many blocks more, which hold its fold-over: its
// runs once more with the levels of all factors exchanged (FoldAll), or those of one. The error of
// a plan for which that is not to be had says why, and what there is instead.
func (c *Plan) FoldOver(which string, blocks int) (*Plan, error) {
	if err := c.canFoldOver(which); err != nil {
		return nil, err
	}
	longer, screen := *c, *c.Order.Screen
	screen.FoldOver = which
	for i := range blocks {
		screen.FoldBlocks = append(screen.FoldBlocks, c.Block.Count+i+1)
	}
	longer.Order.Screen = &screen
	longer.Block.Count += blocks
	longer.Chosen = slices.Clone(c.Chosen)
	for _, levels := range c.Chosen {
		mirrored := longer.mirrored(levels)
		if !slices.ContainsFunc(c.Chosen, func(t []string) bool { return slices.Equal(t, mirrored) }) {
			longer.Chosen = append(longer.Chosen, mirrored)
		}
	}
	if short := longer.shortOfFold(); short != "" {
		return nil, errors.New(short + ": add more of them")
	}
	return &longer, nil
}

// canFoldOver says why a fold-over cannot be added, or frees nothing.
func (c *Plan) canFoldOver(which string) error {
	s := c.Order.Screen
	known := []string{FoldAll}
	for _, f := range c.Factors {
		known = append(known, f.Name)
	}
	switch {
	case s == nil:
		return errors.New("the plan is no screen: a fold-over mirrors runs that resolution, fraction or plackett_burman in [order] has chosen")
	case s.FoldOver != "":
		return fmt.Errorf("the screen is folded over already: fold_over = %q", s.FoldOver)
	case !slices.Contains(known, which):
		return fmt.Errorf("there is no factor %q to fold over: %s", which, oneOf(which, known...))
	}
	f, err := c.fraction()
	switch {
	case err != nil:
		return errors.New(reason(err))
	case f == nil || frees(f, c.folded(which)):
		return nil // main effects of a Plackett–Burman design are never free of all interactions
	case f.Resolution == 0:
		return fmt.Errorf("the %s are all combinations of the factors: a fold-over would only run them again; to run them again, add blocks", words.Count(len(f.Levels), "run"))
	case f.Resolution > 4:
		return fmt.Errorf("the runs are of resolution %s: main effects and interactions of two factors are free of each other already, and a fold-over frees none of them", order.Roman(f.Resolution))
	}
	do := ""
	var others []string
	for i, name := range known {
		if i == 0 && frees(f, nil) || i > 0 && frees(f, []int{i - 1}) {
			others = append(others, name)
		}
	}
	if others != nil {
		do = "; what frees some is to fold over " + words.List(others, 12)
	}
	if which == FoldAll {
		return fmt.Errorf("the mirror image of all factors frees no main effect and no interaction of two factors: the runs are of resolution %s, in which main effects are free of those already%s", order.Roman(f.Resolution), do)
	}
	return fmt.Errorf("exchanging the levels of %s frees no main effect and no interaction of two factors%s", which, do)
}

// frees reports whether folding a fraction over in some factors, all for nil, frees an effect of one
// or two factors of others.
func frees(f *order.Fraction, factors []int) bool {
	return len(f.FoldOver(factors...).Aliases(2)) > len(f.Aliases(2))
}

// folded returns the factors whose levels are exchanged; nil for all.
func (c *Plan) folded(which string) []int {
	for i, f := range c.Factors {
		if which == f.Name {
			return []int{i}
		}
	}
	return nil
}

// mirrored returns the levels of a treatment with those of the folded factors exchanged.
func (c *Plan) mirrored(levels []string) []string {
	folded := c.folded(c.Order.Screen.FoldOver)
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
		image := c.mirrored(c.Chosen[i])
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
		return c.countTreatments()
	case c.Order.Screen.PlackettBurman > 0:
		return c.Order.Screen.PlackettBurman
	}
	return len(c.Chosen) / 2
}

// foldBlocks checks the blocks of the fold-over of a plan whose blocks and screen were read without
// fault.
func (r *planReader) foldBlocks(c *Plan, t *table) bool {
	if !c.FoldedApart() {
		return true
	}
	at, blocks := t.byKey["fold_over_blocks"].value.at, c.Order.Screen.FoldBlocks
	switch last := blocks[len(blocks)-1]; {
	case last > c.Block.Count:
		r.add(at, fmt.Sprintf("fold_over_blocks has %s %d; there are %d", c.Block.Name, last, c.Block.Count), fmt.Sprintf("write numbers from 1 to %d", c.Block.Count))
	case len(blocks) == c.Block.Count:
		r.add(at, fmt.Sprintf("all %s hold the fold-over, and none the runs that are folded over", c.Block.Plural()), "leave some of them out")
	case c.Order.fixed() > 0 && c.BaselineTreatment() >= c.TreatmentsPerBlock():
		r.add(at, "the baseline, which warm-up and reference runs run, is a run of the fold-over alone", "choose baselines that are together one of the runs folded over")
	case c.shortOfFold() != "":
		r.add(at, c.shortOfFold(), "share the "+c.Block.Plural()+" out more evenly, or add some")
	default:
		return true
	}
	return false
}

// shortOfFold says in which blocks there are fewer runs than treatments, "" if in none.
func (c *Plan) shortOfFold() string {
	folded := len(c.Order.Screen.FoldBlocks)
	for _, part := range []struct {
		what   string
		blocks int
	}{{"the runs", c.Block.Count - folded}, {"the fold-over", folded}} {
		if t := c.TreatmentsPerBlock(); part.blocks*c.DrawnPerBlock() < t {
			return fmt.Sprintf("%s of %d runs cannot hold %s, %d treatments", c.Block.many(part.blocks), c.DrawnPerBlock(), part.what, t)
		}
	}
	return ""
}
