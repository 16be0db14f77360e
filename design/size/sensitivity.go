package size

import (
	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// Sensitivity says what a sheet as it was drawn finds of one response, against the margin.
type Sensitivity struct {
	Name        string          `json:"name"`
	Unit        string          `json:"unit"`
	Margin      verdict.Margin  `json:"margin"`
	Factors     verdict.Factors `json:"factors"`      // whose levels, or combinations, are known least well
	FamilyCount int             `json:"family_count"` // families of comparisons that the plan makes
	Detectable  verdict.Number  `json:"detectable"`   // smallest difference found with the power of the plan, in the terms of the margin
	Power       verdict.Number  `json:"power"`        // chance to find a difference as large as the margin
	Enough      bool            `json:"enough"`       // that chance is the power of the plan or more
	Needed      *Point          `json:"needed"`       // smallest campaign that would be enough; null: no affordable one
	Most        int             `json:"most"`         // the largest number of blocks tried
}

// Sensitivities says, for every response with a margin and a noise that is stated in the plan or kept of its rig, what
// the order of a sheet finds: one given comparison of the family that is known least well, as [Ask.Before] computes it for
// an order that has yet to be drawn. The error is that of the rig's record.
func Sensitivities(s *sheet.Sheet) ([]Sensitivity, error) {
	c := s.Campaign
	rig, err := plan.Rely(c)
	if err != nil {
		return nil, err
	}
	a := Ask{rig: rig}
	families := familiesSoFar(s)
	out := []Sensitivity{}
	for i := range c.Responses {
		if f, known := a.finds(c, &c.Responses[i], families, s); known {
			out = append(out, f)
		}
	}
	return out, nil
}

// finds answers for one response; known is false where margin or noise is not, or no chance can be computed.
func (a Ask) finds(c *design.Plan, r *design.Response, families []family, s *sheet.Sheet) (f Sensitivity, known bool) {
	in := terms{log: r.Scale == design.ScaleLog}
	t, err := a.target(c, r, in, nil, &ResponseSize{})
	if err != nil {
		return f, false
	}
	t.Power = c.Analysis.Power
	for _, family := range families {
		family.drawn, family.most = &s.Draw.Order, max(MostBlocks, c.Block.Count)
		if family.design.Sample {
			family.design.Interplay = blockInterplay(c, family.judged(), r.Name, nil)
		}
		g := family.byBlocks(a.spread(r, nil))
		if family.specimens = assumedInterplay(c, family.judged(), r.Name, nil); family.specimens != nil {
			g = family.moreBlocksOn(g)
		}
		now := family.point(t, g, c.Block.Count, in)
		if !now.Power.Known() {
			return f, false
		}
		if known && now.Power >= f.Power {
			continue
		}
		known = true
		f = Sensitivity{Name: r.Name, Unit: r.Unit, Margin: *question.MarginOf(r.Margin), Factors: family.Factors, FamilyCount: len(families),
			Detectable: now.Detectable, Power: now.Power, Enough: float64(now.Power) >= t.Power, Most: family.most}
		f.Needed = family.needed(t, g, in)
	}
	return f, known
}
