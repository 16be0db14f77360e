package render

import (
	"fmt"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/stats/words"
)

// screen says what the runs of a screen can tell.
func screen(c *design.Plan) string {
	return screened(c) + foldBlocks(c)
}

func screened(c *design.Plan) string {
	sc, runs := c.Order.Screen, len(c.Chosen)
	if sc.PlackettBurman > 0 {
		text := fmt.Sprintf("Screen: the Plackett–Burman design of %d runs for %d factors", sc.PlackettBurman, len(c.Factors))
		switch sc.FoldOver {
		case "":
			return text + ". Main effects are free of each other, and each is mixed, in part, with interactions of two other factors."
		case design.FoldAll:
			return text + fmt.Sprintf(", folded over to %d: main effects are free of interactions of two factors.", 2*sc.PlackettBurman)
		}
		return text + fmt.Sprintf(", folded over to %d: %s.", 2*sc.PlackettBurman, analysis.PartAliases(c))
	}
	f, err := c.Fraction()
	if err != nil || f == nil {
		return ""
	}
	if f.Resolution == 0 {
		return fmt.Sprintf("Screen: all %d combinations of %d factors.", runs, len(c.Factors))
	}
	text := fmt.Sprintf("Screen: %d of the %d combinations of %d factors, of resolution %s", runs, 1<<len(c.Factors), len(c.Factors), roman(f.Resolution))
	switch {
	case f.Resolution == 3:
		text += ": main effects are free of each other, but mixed with interactions of two factors."
	case f.Resolution == 4:
		text += ": main effects are free of interactions of two factors, which are mixed with each other."
	default:
		text += ": main effects and interactions of two factors are free of each other."
	}
	for _, line := range analysis.Aliases(c, f, 1) {
		text += " " + strings.ToUpper(line[:1]) + line[1:] + "."
	}
	return text
}

// foldBlocks says which blocks hold the fold-over, "" where it has none of its own.
func foldBlocks(c *design.Plan) string {
	if !c.FoldedApart() {
		return ""
	}
	var numbers []string
	for _, b := range c.Order.Screen.FoldBlocks {
		numbers = append(numbers, strconv.Itoa(b))
	}
	names, verb := c.Block.Name, "holds"
	if len(numbers) > 1 {
		names, verb = c.Block.Plural(), "hold"
	}
	what := "the levels of all factors exchanged"
	if fold := c.Order.Screen.FoldOver; fold != design.FoldAll {
		what = "the levels of " + fold + " exchanged"
	}
	list := words.And(numbers)
	return fmt.Sprintf(" %s%s %s %s the fold-over: the runs once more with %s.", strings.ToUpper(names[:1]), names[1:], list, verb, what)
}

// roman writes a resolution.
func roman(n int) string {
	for _, step := range []struct {
		worth int
		text  string
	}{{9, "IX"}, {5, "V"}, {4, "IV"}, {1, "I"}} {
		if n >= step.worth {
			return step.text + roman(n-step.worth)
		}
	}
	return ""
}
