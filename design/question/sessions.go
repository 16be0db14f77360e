package question

import (
	"slices"

	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// addSessions puts the sessions and the items of a plan into the model of incomplete blocks, whose
// means are used. Complete blocks take out what lies between sessions and items by themselves, and
// nothing is added for them.
//
// A session that holds every treatment is complete, and so are an item's blocks that together do:
// differences between such ones cost the comparisons next to nothing when they are taken out, and
// there are few to judge their spread by, so they are fixed. Otherwise they are random, as incomplete
// blocks are, so that what lies between them is used. How treatments differ from session to session is
// not modelled: that is an interaction, which the plan does not ask for.
func addSessions(d *verdict.Data, s *sheet.Sheet) {
	for _, f := range further(s) {
		if holdsAll(s, f) {
			d.Blocks = append(d.Blocks, f)
		} else {
			d.Recovered = append(d.Recovered, f)
		}
	}
}

// further are the blocking factors of a sheet beside its blocks: sessions, and items.
func further(s *sheet.Sheet) []linmod.Factor {
	var factors []linmod.Factor
	if f, ok := s.Sessions(); ok {
		factors = append(factors, f)
	}
	if f, ok := s.Items(); ok {
		factors = append(factors, f)
	}
	return factors
}

// holdsAll reports whether every treatment is planned in every level of a factor that occurs.
func holdsAll(s *sheet.Sheet, f linmod.Factor) bool {
	treatments := len(s.Campaign.Treatments())
	seen := make([][]bool, len(f.Levels))
	for i, r := range s.Runs {
		if k := f.Code[i]; seen[k] == nil {
			seen[k] = make([]bool, treatments)
		}
		seen[f.Code[i]][r.Treatment] = true
	}
	return !slices.ContainsFunc(seen, func(of []bool) bool { return of != nil && slices.Contains(of, false) })
}
