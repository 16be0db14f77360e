package question

import (
	"fmt"
	"slices"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// Of turns a run sheet into columns and the plan into what is asked of
// them.
//
// Warm-up runs are left out; reference runs are runs of the baseline like any
// other. Whole plots are random: levels of a factor that is hard to change are
// compared by the noise between whole plots, the rest by that within them. Blocks
// that do not hold every treatment are random, so that what lies between them is
// recovered; complete ones are fixed. Sessions and items follow the same rule where blocks
// are incomplete; complete blocks take them out.
func Of(s *sheet.Sheet) (verdict.Data, verdict.Request) {
	done := s.DoneOrder()
	took := analysed(s, before(s, done.Position, func(r *sheet.Run) bool { return r.Status != sheet.ToDo }))
	s = Analysed(s)
	c := s.Campaign
	position := make([]int, len(s.Runs))
	for i := range s.Runs {
		position[i] = done.Position[s.Runs[i].Run-1]
	}
	d := Columns(s, position)
	d.Before = took
	d.Status = make([]verdict.Status, len(s.Runs))
	d.Order = make([]float64, len(s.Runs))
	d.Name = func(row int) string { return fmt.Sprintf("run %d", s.Runs[row].Run) }
	for i := range s.Runs {
		r := &s.Runs[i]
		d.Status[i] = statuses[r.Status]
		d.Order[i] = float64(r.Block-1)*float64(c.RunsPerBlock()) + float64(position[i])
	}
	for _, name := range c.Analysis.Covariates {
		d.Noted = append(d.Noted, linmod.Covariate{Name: name, Value: s.Reading(name).Floats()})
	}
	for _, r := range c.Responses {
		d.Responses = append(d.Responses, verdict.Measured{
			Name: r.Name, Unit: r.Unit, Better: r.Better, Margin: MarginOf(r.Margin),
			Scale: verdict.Scale(r.Scale), Values: s.Response(r.Name),
		})
	}
	q := Request(c)
	q.Looks = Looks(s).Request(c)
	return d, q
}

// Columns are the treatments, blocks, drift and random factors of the runs of a sheet,
// one row a run, which were made at the positions given. Nothing that was entered into
// the sheet matters; warm-up runs are the caller's to leave out.
func Columns(s *sheet.Sheet, position []int) verdict.Data {
	d := verdict.Data{Treatments: s.Factors(), Blocks: []linmod.Factor{s.Blocks()}}
	if s.Campaign.Block.Runs > 0 {
		d.Recovered, d.Blocks = d.Blocks, nil
		addSessions(&d, s)
	} else if !s.Campaign.Block.Fixed {
		d.Sample = []string{s.Campaign.Block.Name}
	}
	addDrift(&d, s.Campaign, position)
	if s.Draw.Order.Plan.WholePlots != nil {
		d.Random = append(d.Random, wholePlots(s))
	}
	addSpecimens(&d, s)
	d.Before = before(s, position, func(*sheet.Run) bool { return true })
	d.Parts = noiseParts(s)
	d.Apart = s.Campaign.FoldedApart()
	d.Plurals = s.Campaign.Plurals()
	return d
}

// Analysed is the sheet without its warm-up runs.
func Analysed(s *sheet.Sheet) *sheet.Sheet {
	if s.Draw.Order.Plan.Warmup == 0 {
		return s
	}
	only := *s
	only.Runs = slices.DeleteFunc(slices.Clone(s.Runs), func(r sheet.Run) bool { return r.Role == sheet.Warmup })
	return &only
}

// Request is what the plan asks, as of a plan with one look.
func Request(c *design.Plan) verdict.Request {
	q := verdict.Request{
		Title: c.Title, Scope: c.Scope, Holds: holds(c), Interactions: c.Interactions, MainOnly: c.Order.Screen != nil,
		CarryOver: c.Order.CarryOver, ByLevel: c.Analysis.Noise == design.NoiseByLevel,
		Compare: verdict.Compare(c.Analysis.Compare),
		Alpha:   c.Analysis.Alpha, Power: c.Analysis.Power, Family: verdict.Span(c.Family()),
	}
	for _, f := range c.Factors {
		q.Baseline = append(q.Baseline, f.Baseline)
	}
	if c.Analysis.Compare != design.ComparePairs && c.Analysis.Compare != design.CompareBaseline {
		q.Baseline = nil
	}
	if c.Chosen == nil {
		return q
	}
	for _, t := range c.Treatments() {
		levels := make([]int, len(c.Factors))
		for k, f := range c.Factors {
			levels[k] = slices.Index(f.Levels, t.Levels[k])
		}
		q.Chosen = append(q.Chosen, levels)
	}
	return q
}

// MarginOf is a margin of the plan, nil when there is none.
func MarginOf(a design.Amount) *verdict.Margin {
	if !a.Set {
		return nil
	}
	return &verdict.Margin{Value: a.Value, Relative: a.Relative}
}
