package question

import (
	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// Compared are the columns of a sheet's runs at their planned positions, with the treatments as they are compared: each
// factor by itself or, with interactions, all as one. Warm-up runs are left out; what runs take over is among the covariates
// where it is in the model.
func Compared(s *sheet.Sheet) verdict.Data {
	took := before(s, positionsOf(s), func(*sheet.Run) bool { return true })
	together := s.Campaign.Interactions && len(s.Campaign.Factors) > 1
	if together {
		took = []linmod.Factor{earlier(combined(s), s)}
	}
	took = analysed(s, took)
	s = Analysed(s)
	d := Columns(s, positionsOf(s))
	if together {
		d.Treatments = []linmod.Factor{combined(s)}
	}
	if d.Before = took; s.Campaign.Order.CarryOver {
		d.Covariates = append(d.Covariates, linmod.NewCarryOver(took, func(int) bool { return true }).Covariates...)
	}
	return d
}

// positionsOf are the planned positions of a sheet's runs.
func positionsOf(s *sheet.Sheet) []int {
	position := make([]int, len(s.Runs))
	for i, r := range s.Runs {
		position[i] = r.Position
	}
	return position
}

// earlier is the level of a factor in the run planned before.
func earlier(f linmod.Factor, s *sheet.Sheet) linmod.Factor {
	block := s.Blocks()
	when := make([]float64, len(s.Runs))
	for i, r := range s.Runs {
		when[i] = float64(r.Position)
	}
	return linmod.Before(f, &block, when)
}

// Family is what is compared with each other: the levels of a factor, or the combinations of those of several. Average says
// that the levels stand beside a family of combinations, averaged over the other factors.
type Family struct {
	Factors verdict.Factors
	Levels  []string
	Average bool
}

// Families are those of a plan: one of each factor or, with interactions, one of all combinations and, where all of these
// are run, then one of each factor averaged over the others.
func Families(c *design.Plan) []Family {
	var out []Family
	combined := c.Interactions && len(c.Factors) > 1
	if combined {
		out = append(out, combinations(c))
		if c.Chosen != nil {
			return out
		}
	}
	for _, f := range c.Factors {
		out = append(out, Family{verdict.Factors{f.Name}, f.Levels, combined})
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
