package question

import (
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// Compared are the columns of a sheet's runs at their planned positions, with the treatments as they are compared: each
// factor by itself or, with interactions, all as one.
func Compared(s *sheet.Sheet) verdict.Data {
	position := make([]int, len(s.Runs))
	for i, r := range s.Runs {
		position[i] = r.Position
	}
	d := Columns(s, position)
	if c := s.Campaign; c.Interactions && len(c.Factors) > 1 {
		d.Treatments = []linmod.Factor{combined(s)}
	}
	return d
}

// combined is the treatment of every run as one factor, as the verdict compares
// combinations.
func combined(s *sheet.Sheet) linmod.Factor {
	var names []string
	for _, f := range s.Campaign.Factors {
		names = append(names, f.Name)
	}
	out := linmod.Factor{Name: linmod.TermName(names...), Code: make([]int32, len(s.Runs))}
	for _, t := range s.Campaign.Treatments() {
		out.Levels = append(out.Levels, t.String())
	}
	for i, r := range s.Runs {
		out.Code[i] = int32(r.Treatment)
	}
	return out
}
