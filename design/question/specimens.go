package question

import (
	"fmt"
	"strconv"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/verdict"
)

// addSpecimens puts the specimens of a plan into the model when they are several: how the
// treatments differ from specimen to specimen is random, so that each comparison is judged by
// how far the specimens agree on it. Differences between specimens that all treatments share
// are those of their blocks; where blocks are random the specimens are so too.
func addSpecimens(d *verdict.Data, s *sheet.Sheet) {
	c := s.Campaign
	if c.Specimens == nil || c.Specimens.Count < 2 {
		return
	}
	specimen := specimenFactor(s)
	if d.Recovered != nil {
		d.Random = append(d.Random, specimen)
	}
	sets := [][]linmod.Factor{d.Treatments}
	if !c.Interactions {
		sets = nil
		for _, f := range d.Treatments {
			sets = append(sets, []linmod.Factor{f})
		}
	}
	for _, set := range sets {
		d.Interplay = append(d.Interplay, mixed.Crossed(append([]linmod.Factor{specimen}, set...)...))
	}
}

// specimenFactor is the specimen of every run.
func specimenFactor(s *sheet.Sheet) linmod.Factor {
	f := linmod.Factor{Name: s.Campaign.Specimens.Name, Code: make([]int32, len(s.Runs))}
	for n := range s.Campaign.Specimens.Count {
		f.Levels = append(f.Levels, strconv.Itoa(n+1))
	}
	for i, r := range s.Runs {
		f.Code[i] = int32(r.Specimen - 1)
	}
	return f
}

// noiseParts are what runs differ by beside the run itself, the coarsest first: sessions, items that
// come back, specimens, blocks.
func noiseParts(s *sheet.Sheet) []linmod.Factor {
	parts := further(s)
	if u := s.Campaign.Specimens; u != nil && u.Count > 1 {
		parts = append(parts, specimenFactor(s))
	}
	return append(parts, s.Blocks())
}

// Campaign says what a plan tests, and for what its verdict holds.
func Campaign(c *design.Plan) verdict.Campaign {
	return verdict.Campaign{Title: c.Title, Scope: c.Scope, Holds: holds(c)}
}

// holds says in words for what a verdict on a plan holds: "motors like these 3, on packs like these 6 (thruster type B)".
func holds(c *design.Plan) string {
	var of string
	switch u := c.Specimens; {
	case u == nil:
		of = blocksHold(c)
	case u.Count == 1:
		of = fmt.Sprintf("this %s alone, on %s", u.Name, blocksHold(c))
	default:
		of = fmt.Sprintf("%s like these %d, on %s", u.Plural(), u.Count, blocksHold(c))
	}
	if c.Scope != "" {
		of += " (" + c.Scope + ")"
	}
	return of + "."
}

// blocksHold says for which blocks: "packs like these 4", or "these 4 packs".
func blocksHold(c *design.Plan) string {
	switch b := c.Block; {
	case b.Count == 1:
		return fmt.Sprintf("this %s", b.Name)
	case b.Fixed:
		return fmt.Sprintf("these %d %s", b.Count, b.Plural())
	default:
		return fmt.Sprintf("%s like these %d", b.Plural(), b.Count)
	}
}
