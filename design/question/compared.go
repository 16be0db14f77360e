package question

import (
	"fairrun/design"
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

// Family is what is compared with each other: the levels of a factor, or the combinations of those of several.
type Family struct {
	Factors verdict.Factors
	Levels  []string
}

// Families are those of a plan: one of each factor or, with interactions, one of all combinations.
func Families(c *design.Plan) []Family {
	if c.Interactions && len(c.Factors) > 1 {
		return []Family{combinations(c)}
	}
	var out []Family
	for _, f := range c.Factors {
		out = append(out, Family{verdict.Factors{f.Name}, f.Levels})
	}
	return out
}

// combinations is the family of all treatments.
func combinations(c *design.Plan) Family {
	var out Family
	for _, f := range c.Factors {
		out.Factors = append(out.Factors, f.Name)
	}
	for _, t := range c.Treatments() {
		out.Levels = append(out.Levels, t.String())
	}
	return out
}

// combined is the treatment of every run as one factor, as the verdict compares
// combinations.
func combined(s *sheet.Sheet) linmod.Factor {
	all := combinations(s.Campaign)
	out := linmod.Factor{Name: all.Factors.Term(), Levels: all.Levels, Code: make([]int32, len(s.Runs))}
	for i, r := range s.Runs {
		out.Code[i] = int32(r.Treatment)
	}
	return out
}
