package plan

import (
	"fairrun/design"
	"fairrun/design/screen"
	"fairrun/stats/words"
	"fmt"
	"slices"
	"strings"
)

// screen reads what [order] says of the treatments; nil when it says nothing of them.
func (r *planReader) screen(t *table, factors []design.Factor) (sc *design.Screen, ok bool) {
	if t == nil {
		return nil, true
	}
	s := section{ledger: r.ledger, table: t, name: "[order]", keys: keysOf("[order]")}
	word, hasResolution, okResolution := s.word("resolution")
	fraction, hasFraction, okFraction := s.count("fraction")
	pb, hasPB, okPB := s.count("plackett_burman")
	fold, hasFold, okFold := s.text("fold_over")
	foldBlocks, okFoldBlocks := s.numbersFrom1("fold_over_blocks", "blocks", design.MaxRuns)
	given := 0
	for _, has := range []bool{hasResolution, hasFraction, hasPB} {
		if has {
			given++
		}
	}
	switch {
	case !okResolution || !okFraction || !okPB || !okFold || !okFoldBlocks:
		return nil, false
	case given > 1:
		r.add(t.at, "[order] chooses treatments in more than one way", "keep one of resolution, fraction and plackett_burman")
		return nil, false
	case given == 0 && hasFold:
		r.add(t.byKey["fold_over"].at, "fold_over stands without the runs that are folded over", `add resolution = "III", fraction = 8 or plackett_burman = 12`)
		return nil, false
	case foldBlocks != nil && !hasFold:
		r.add(t.byKey["fold_over_blocks"].at, "fold_over_blocks says where the fold-over is run, but there is none", `add fold_over = "all", or one factor`)
		return nil, false
	case given == 0:
		return nil, true
	}
	sc = &design.Screen{Fraction: fraction, PlackettBurman: pb, FoldOver: fold, FoldBlocks: foldBlocks}
	if hasResolution {
		sc.Resolution = 3
		for resolutions[sc.Resolution-3] != word {
			sc.Resolution++
		}
	}
	if hasFold {
		known := []string{design.FoldAll}
		for _, f := range factors {
			known = append(known, f.Name)
		}
		if _, _, ok := s.wordOf("fold_over", known); !ok {
			return nil, false
		}
	}
	return sc, true
}

// screened returns the screen's treatments as numbers of levels, those of the fold-over last.
func screened(c *design.Plan) ([][]int, error) {
	s := c.Order.Screen
	var rows [][]int
	if s.PlackettBurman > 0 {
		var err error
		if rows, err = screen.PlackettBurman(len(c.Factors), s.PlackettBurman); err != nil {
			return nil, err
		}
	} else {
		f, err := c.Unfolded()
		if err != nil {
			return nil, err
		}
		rows = f.Levels
	}
	if s.FoldOver == "" {
		return rows, nil
	}
	folded := c.Folded(s.FoldOver)
	for _, row := range rows[:len(rows):len(rows)] {
		mirrored := slices.Clone(row)
		for i := range mirrored {
			if folded == nil || slices.Contains(folded, i) {
				mirrored[i] = 1 - mirrored[i]
			}
		}
		rows = append(rows, mirrored)
	}
	return rows, nil
}

// choose sets the treatments of a plan with a screen, whose factors were read without fault. The
// first level of a factor is its low one.
func (r *planReader) choose(root *table, c *design.Plan, places []factorPlaces) bool {
	t := root.byKey["order"].value.table
	key := c.Order.Screen.Key()
	at := t.byKey[key].value.at
	if e := root.byKey["treatments"]; e != nil {
		r.add(e.at, "treatments are listed, and chosen by "+key+" in [order]", "keep one of the two")
		return false
	}
	if e := root.byKey["interactions"]; e != nil && e.value.text == "true" {
		r.add(e.value.at, "interactions is true, but the runs that "+key+" chooses tell main effects only", "take interactions out")
		return false
	}
	for i, f := range c.Factors {
		if len(f.Levels) != 2 {
			r.add(places[i].at, fmt.Sprintf("%s has %d levels, but %s in [order] is for factors of 2", f.Name, len(f.Levels), key), "keep the two levels that lie furthest apart, or take "+key+" out")
			return false
		}
	}
	c.Interactions = false
	rows, err := screened(c)
	if err != nil {
		r.add(at, err.Error(), screenAdvice(c))
		return false
	}
	// Few factors in many runs have some combinations several times: each is a treatment of its own, so
	// that they are run as often as the design has it.
	fold := t.byKey["fold_over"]
	base := len(rows)
	if fold != nil {
		base /= 2
	}
	known := map[string]bool{}
	again := 0 // of the fold-over, runs that stand in the design
	for i, row := range rows {
		levels := make([]string, len(row))
		for j, level := range row {
			levels[j] = c.Factors[j].Levels[level]
		}
		name := strings.Join(levels, "\x00")
		switch {
		case i < base:
			known[name] = true
		case known[name]:
			again++
			if c.Order.Screen.FoldBlocks != nil {
				continue // its blocks draw on the treatment that is there
			}
		}
		c.Chosen = append(c.Chosen, levels)
	}
	if fold != nil && again == base {
		r.add(fold.value.at, "folded over, these runs are the same ones again", "take fold_over out"+foldsOver(c, known))
		return false
	}
	return r.distinct(c, at)
}

// foldsOver says what else to write where the fold-over of a screen has the runs once more, which are known: to exchange the
// levels of one factor; "" where no factor makes others.
func foldsOver(c *design.Plan, known map[string]bool) string {
	for i, f := range c.Factors {
		row := slices.Clone(c.Chosen[0])
		row[i] = f.Levels[1-slices.Index(f.Levels, row[i])]
		if !known[strings.Join(row, "\x00")] {
			return fmt.Sprintf(", or write fold_over = %q: the main effect of one factor and its interactions are then free of all others", f.Name)
		}
	}
	return ""
}

// screenAdvice says which screens there are for as many factors.
func screenAdvice(c *design.Plan) string {
	var fits []string
	for _, runs := range []int{4, 8, 16, 32} {
		if f, err := screen.Regular(len(c.Factors), runs); err == nil {
			what := "all combinations"
			if f.Resolution > 0 {
				what = "resolution " + screen.Roman(f.Resolution)
			}
			fits = append(fits, fmt.Sprintf("fraction = %d (%s)", runs, what))
		}
	}
	// With fewer factors some of the runs are alike, and a regular fraction does as well.
	for _, pb := range []struct{ runs, least int }{{12, 5}, {20, 5}, {24, 7}} {
		if len(c.Factors) >= pb.least && len(c.Factors) < pb.runs {
			fits = append(fits, fmt.Sprintf("plackett_burman = %d", pb.runs))
		}
	}
	if fits == nil {
		return "list treatments = [ … ] of your own, or take factors out"
	}
	return "for " + words.Count(len(c.Factors), "factor") + " there are " + strings.Join(fits, ", ")
}
