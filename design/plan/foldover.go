package plan

import (
	"errors"
	"fairrun/design"
	"fairrun/design/screen"
	"fairrun/stats/words"
	"fmt"
	"slices"
)

// FoldOver returns the plan of a screen with so many blocks more, which hold its fold-over: its
// runs once more with the levels of all factors exchanged (FoldAll), or those of one. The error of
// a plan for which that is not to be had says why, and what there is instead.
func FoldOver(c *design.Plan, which string, blocks int) (*design.Plan, error) {
	if err := canFoldOver(c, which); err != nil {
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
		mirrored := longer.Mirrored(levels)
		if !slices.ContainsFunc(c.Chosen, func(t []string) bool { return slices.Equal(t, mirrored) }) {
			longer.Chosen = append(longer.Chosen, mirrored)
		}
	}
	if short := shortOfFold(&longer); short != "" {
		return nil, errors.New(short + ": add more of them")
	}
	return &longer, nil
}

// canFoldOver says why a fold-over cannot be added, or frees nothing.
func canFoldOver(c *design.Plan, which string) error {
	s := c.Order.Screen
	known := []string{design.FoldAll}
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
	f, err := c.Unfolded()
	switch {
	case err != nil:
		return err
	case f == nil || frees(f, c.Folded(which)):
		return nil // main effects of a Plackett–Burman design are never free of all interactions
	case f.Resolution == 0:
		return fmt.Errorf("the %s are all combinations of the factors: a fold-over would only run them again; to run them again, add blocks", words.Count(len(f.Levels), "run"))
	case f.Resolution > 4:
		return fmt.Errorf("the runs are of resolution %s: main effects and interactions of two factors are free of each other already, and a fold-over frees none of them", screen.Roman(f.Resolution))
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
	if which == design.FoldAll {
		return fmt.Errorf("the mirror image of all factors frees no main effect and no interaction of two factors: the runs are of resolution %s, in which main effects are free of those already%s", screen.Roman(f.Resolution), do)
	}
	return fmt.Errorf("exchanging the levels of %s frees no main effect and no interaction of two factors%s", which, do)
}

// frees reports whether folding a fraction over in some factors, all for nil, frees an effect of one
// or two factors of others.
func frees(f *screen.Fraction, factors []int) bool {
	return len(f.FoldOver(factors...).Aliases(2)) > len(f.Aliases(2))
}

// foldBlocks checks the blocks of the fold-over of a plan whose blocks and screen were read without
// fault.
func (r *planReader) foldBlocks(c *design.Plan, t *table) bool {
	if !c.FoldedApart() {
		return true
	}
	at, blocks := t.byKey["fold_over_blocks"].value.at, c.Order.Screen.FoldBlocks
	switch last := blocks[len(blocks)-1]; {
	case last > c.Block.Count:
		r.add(at, fmt.Sprintf("fold_over_blocks has %s %d; there are %d", c.Block.Name, last, c.Block.Count), fmt.Sprintf("write numbers from 1 to %d", c.Block.Count))
	case len(blocks) == c.Block.Count:
		r.add(at, fmt.Sprintf("all %s hold the fold-over, and none the runs that are folded over", c.Block.Plural()), "leave some of them out")
	case c.Order.Fixed() > 0 && c.BaselineTreatment() >= c.TreatmentsPerBlock():
		r.add(at, "the baseline, which warm-up and reference runs run, is a run of the fold-over alone", "choose baselines that are together one of the runs folded over")
	case shortOfFold(c) != "":
		r.add(at, shortOfFold(c), "share the "+c.Block.Plural()+" out more evenly, or add some")
	default:
		return true
	}
	return false
}

// shortOfFold says in which blocks there are fewer runs than treatments, "" if in none.
func shortOfFold(c *design.Plan) string {
	folded := len(c.Order.Screen.FoldBlocks)
	for _, part := range []struct {
		what   string
		blocks int
	}{{"the runs", c.Block.Count - folded}, {"the fold-over", folded}} {
		if t := c.TreatmentsPerBlock(); part.blocks*c.DrawnPerBlock() < t {
			return fmt.Sprintf("%s of %d runs cannot hold %s, %d treatments", c.Block.Many(part.blocks), c.DrawnPerBlock(), part.what, t)
		}
	}
	return ""
}
