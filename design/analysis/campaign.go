package analysis

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Question turns a run sheet into columns and the plan into what is asked of
// them.
//
// Warm-up runs are left out; reference runs are runs of the baseline like any
// other. Whole plots are random: levels of a factor that is hard to change are
// compared by the noise between whole plots, the rest by that within them. Blocks
// that do not hold every treatment are random, so that what lies between them is
// recovered; complete ones are fixed. Sessions and items follow the same rule where blocks
// are incomplete; complete blocks take them out.
func Question(s *sheet.Sheet) (verdict.Data, verdict.Request) {
	done := s.DoneOrder()
	s = analysed(s)
	c := s.Campaign
	position := make([]int, len(s.Runs))
	for i := range s.Runs {
		position[i] = done.Position[s.Runs[i].Run-1]
	}
	d := Columns(s, position)
	d.Status = make([]verdict.Status, len(s.Runs))
	d.Order = make([]float64, len(s.Runs))
	d.Name = func(row int) string { return fmt.Sprintf("run %d", s.Runs[row].Run) }
	for i := range s.Runs {
		r := &s.Runs[i]
		d.Status[i] = statuses[r.Status]
		d.Order[i] = float64(r.Block-1)*float64(c.RunsPerBlock()) + float64(position[i])
	}
	for _, name := range c.Analysis.Covariates {
		d.Noted = append(d.Noted, linmod.Covariate{Name: name, Value: s.Check(name).Floats()})
	}
	for _, r := range c.Responses {
		d.Responses = append(d.Responses, verdict.Measured{
			Name: r.Name, Unit: r.Unit, Better: r.Better, Margin: marginOf(r.Margin),
			Scale: verdict.Scale(r.Scale), Values: s.Response(r.Name),
		})
	}
	q := Request(c)
	q.Looks = Looks(s).request(c)
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
	}
	addDrift(&d, s.Campaign.Drift, position)
	if s.Draw.Order.Plan.WholePlots != nil {
		d.Random = append(d.Random, wholePlots(s))
	}
	addUnits(&d, s)
	d.Parts = noiseParts(s)
	d.Apart = s.Campaign.FoldedApart()
	return d
}

// analysed is the sheet without its warm-up runs.
func analysed(s *sheet.Sheet) *sheet.Sheet {
	if s.Draw.Order.Plan.Warmup == 0 {
		return s
	}
	only := *s
	only.Runs = slices.DeleteFunc(slices.Clone(s.Runs), func(r sheet.Run) bool { return r.Role == sheet.Warmup })
	return &only
}

// wholePlots is the whole plot of every run, as a factor.
func wholePlots(s *sheet.Sheet) linmod.Factor {
	f := linmod.Factor{Name: plotName, Code: make([]int32, len(s.Runs))}
	for i, r := range s.Runs {
		for len(f.Levels) < r.WholePlot {
			f.Levels = append(f.Levels, strconv.Itoa(len(f.Levels)+1))
		}
		f.Code[i] = int32(r.WholePlot - 1)
	}
	return f
}

// betweenPlots says how much stands behind the levels that are hard to change.
func betweenPlots(s *sheet.Sheet) []verdict.Check {
	if s.Draw.Order.Plan.WholePlots == nil {
		return nil
	}
	var hard []string
	for _, f := range s.Campaign.Factors {
		if f.Change == design.ChangeHard {
			hard = append(hard, f.Name)
		}
	}
	return []verdict.Check{verdict.Remark("whole plots", false,
		"%s is set once for a whole plot, so its effect is told by %s of each setting, however many runs they hold",
		strings.Join(hard, " and "), words.Count(s.Draw.Order.Strata()[0].Replicates, plotName))}
}

var statuses = map[sheet.Status]verdict.Status{
	sheet.ToDo: verdict.Todo, sheet.OK: verdict.OK, sheet.Failed: verdict.Failed, sheet.Void: verdict.Void,
}

// Request is what the plan asks, as of a plan with one look.
func Request(c *design.Plan) verdict.Request {
	q := verdict.Request{
		Title: c.Title, Scope: c.Scope, Holds: holds(c), Interactions: c.Interactions, MainOnly: c.Order.Screen != nil,
		Compare: verdict.Compare(c.Analysis.Compare),
		Alpha:   c.Analysis.Alpha, Power: c.Analysis.Power,
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

// positionColumn names the position of a run in its block.
const positionColumn = "position"

// addDrift puts the plan's drift into the model: over the positions within a
// block, with one course for all blocks or one for each.
func addDrift(d *verdict.Data, drift design.Drift, position []int) {
	degree := 0
	switch drift.Model {
	case design.DriftLinear:
		degree = 1
	case design.DriftQuadratic:
		degree = 2
	case design.DriftPosition:
		d.Blocks = append(d.Blocks, positions(position))
	}
	for k := 1; k <= degree; k++ {
		c := linmod.Covariate{Name: positionColumn, Value: make([]float64, len(position))}
		if k > 1 {
			c.Name += "^" + strconv.Itoa(k)
		}
		for i, p := range position {
			c.Value[i] = 1
			for range k {
				c.Value[i] *= float64(p)
			}
		}
		if !drift.Shared {
			c.By = &slices.Concat(d.Recovered, d.Blocks)[0]
		}
		d.Covariates = append(d.Covariates, c)
	}
}

// positions is the position of every run in its block, as a factor of those that
// occur.
func positions(position []int) linmod.Factor {
	occur := slices.Compact(slices.Sorted(slices.Values(position)))
	f := linmod.Factor{Name: positionColumn, Code: make([]int32, len(position))}
	for _, p := range occur {
		f.Levels = append(f.Levels, strconv.Itoa(p))
	}
	for i, p := range position {
		k, _ := slices.BinarySearch(occur, p)
		f.Code[i] = int32(k)
	}
	return f
}

// marginOf is a margin of the plan, nil when there is none.
func marginOf(a design.Amount) *verdict.Margin {
	if !a.Set {
		return nil
	}
	return &verdict.Margin{Value: a.Value, Relative: a.Relative}
}

// mostRuns is how many runs a message lists.
const mostRuns = 10

// moved says which runs were not made in the order drawn.
func moved(s *sheet.Sheet) []verdict.Check {
	o := s.DoneOrder()
	if len(o.Moved) == 0 {
		return nil
	}
	return []verdict.Check{verdict.Remark("order made", true,
		"runs %s were not made at the place drawn; the drift is judged by the order in which the runs were made, but the draw no longer keeps it apart from the settings, and the randomisation test holds only if runs were moved for reasons that have nothing to do with their settings", words.List(words.Numbers(o.Moved), mostRuns))}
}
