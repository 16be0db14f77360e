package analysis

import (
	"fmt"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// mostAliases bounds the sets of aliases that a check lists.
const mostAliases = 4

// aliases says what the runs of a screen that are good so far mix with the main effects, which is
// what the verdict compares. Until both parts of a fold-over have good runs the aliases are those of
// one of them.
func aliases(s *sheet.Sheet) []verdict.Check {
	if s.Campaign.Order.Screen == nil {
		return nil
	}
	flag, text := mixedWithMain(runSoFar(s))
	switch {
	case s.Campaign.FoldedApart() && !bothPartsRun(s):
		text += ". These are the aliases of the runs that are good so far: the fold-over was drawn, and counts once both have good runs"
	case flag && s.Campaign.Order.Screen.FoldOver == "":
		text += ". The mirror image of all factors tells main effects from interactions: fairrun extend --fold-over all"
	}
	return []verdict.Check{verdict.Remark("aliases", flag, "%s", text)}
}

// runSoFar is the plan of a screen as far as it has good runs: without the fold-over while one of
// both parts has none.
func runSoFar(s *sheet.Sheet) *design.Plan {
	c := s.Campaign
	if !c.FoldedApart() || bothPartsRun(s) {
		return c
	}
	part, screen := *c, *c.Order.Screen
	screen.FoldOver, screen.FoldBlocks = "", nil
	part.Order.Screen = &screen
	return &part
}

// bothPartsRun reports whether the runs and their fold-over both have a good run.
func bothPartsRun(s *sheet.Sheet) bool {
	var run [2]bool
	for i := range s.Runs {
		r := &s.Runs[i]
		if r.Status == sheet.OK && r.Role == sheet.Drawn {
			part := 0
			if slices.Contains(s.Campaign.Order.Screen.FoldBlocks, r.Block) {
				part = 1
			}
			run[part] = true
		}
	}
	return run[0] && run[1]
}

// mixedWithMain says what a screen mixes with main effects; flag is whether it is interactions of two factors.
func mixedWithMain(c *design.Plan) (flag bool, text string) {
	f, err := c.Fraction()
	switch {
	case err != nil || f == nil:
		return c.Order.Screen.FoldOver != design.FoldAll, PartAliases(c)
	case f.Resolution == 0:
		return false, "all combinations of the factors are run: no effect is mixed with another"
	case f.Resolution > 4:
		return false, "main effects and interactions of two factors are free of each other; the interactions are counted as noise"
	}
	lines := Aliases(c, f, 1)
	if len(lines) == 0 {
		return false, "main effects are free of interactions of two factors, which are mixed with each other and counted as noise"
	}
	if n := len(lines) - mostAliases; n > 0 {
		lines = append(lines[:mostAliases:mostAliases], fmt.Sprintf("and %d more: fairrun sheet --show --explain", n))
	}
	return true, strings.Join(lines, "; ")
}
