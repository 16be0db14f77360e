package size

import (
	"context"
	"fmt"
	"slices"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Ask is the question how many blocks it takes. The zero value asks what the plan
// says of itself.
type Ask struct {
	Runs   int                      // to share out over specimens or whole plots and repeats, after results; 0: those of the plan
	Blocks int                      // a size to answer for besides; further blocks after results; 0: none
	Most   int                      // blocks that could be afforded; 0: those of [power.Affordable] runs, 500 at the most
	Noise  map[string]design.Amount // of a response, in place of what the plan assumes
	Pilot  *sheet.Sheet             // a campaign whose measured noise takes the place of what is assumed, with its uncertainty
	Record *plan.NoiseRecord        // the same from the record that a campaign left
	From   string                   // what the pilot or the record is called

	rig *plan.NoiseRecord // of the plan's rig, for what neither the question nor the plan states

	// WholePlotNoise is the standard deviation between whole plots of one setting over that
	// between runs within one; nil: that of the pilot, or 1.
	WholePlotNoise *float64
}

// MostBlocks bounds the search for enough blocks.
const MostBlocks = 500

// affordable is the most blocks of a plan that are tried, of which so many runs are planned or made.
func (a Ask) affordable(c *design.Plan, runs int) int {
	if a.Most > 0 {
		return a.Most
	}
	return min(MostBlocks, max(1, power.Affordable(runs)/c.RunsPerBlock()))
}

// mostNamed is how many names an error lists.
const mostNamed = 5

// UnknownResponseError says that noise was stated of a response that the plan does
// not have.
type UnknownResponseError struct {
	Name  string
	Known []string
}

func (e *UnknownResponseError) Error() string {
	return fmt.Sprintf("there is no response %q; the plan has %s", e.Name, words.List(words.Quoted(e.Known), mostNamed))
}

// Before says how many blocks a plan takes, from noise that is assumed, that a pilot has
// measured or that is kept of the plan's rig. The error is that of a name that no response has, of
// the pilot's verdict, of the rig's record, or of ctx when it ends; an order is drawn to its end first.
func (a Ask) Before(ctx context.Context, c *design.Plan) (*Replicates, error) {
	asked := *c
	asked.Responses = slices.Clone(c.Responses)
	var names []string
	for _, r := range c.Responses {
		names = append(names, r.Name)
	}
	for name, noise := range a.Noise {
		k := slices.Index(names, name)
		if k < 0 {
			return nil, &UnknownResponseError{name, names}
		}
		asked.Responses[k].Noise = noise
	}
	var measured *verdict.Verdict
	var err error
	switch {
	case a.Pilot != nil:
		if measured, err = judged(ctx, a.Pilot); err != nil {
			return nil, err
		}
	case a.Record == nil:
		if a.rig, err = plan.Rely(&asked); err != nil {
			return nil, err
		}
	}
	out := replicates(&asked, Before, question.Planned(&asked))
	out.Pilot = a.From
	if a.rig != nil {
		out.Rig = c.Rig.Name
	}
	drawn := seedOrder(&asked)
	for i := range asked.Responses {
		out.Responses = append(out.Responses, a.before(ctx, &asked, &asked.Responses[i], measured, drawn, out))
	}
	if err := ctx.Err(); err != nil { // which cut the answer short
		return nil, err
	}
	return out, nil
}

// before answers for one response; it leaves families out at the end of ctx.
func (a Ask) before(ctx context.Context, c *design.Plan, r *design.Response, pilot *verdict.Verdict, drawn *order.Drawn, out *Replicates) ResponseSize {
	e := ResponseSize{Name: r.Name, Unit: r.Unit, Margin: question.MarginOf(r.Margin), Sizes: []FamilySize{},
		Noise: RunNoise{SD: verdict.Unknown, Low: verdict.Unknown, High: verdict.Unknown, DF: verdict.Unknown, Kept: verdict.Unknown}, Interplay: verdict.Unknown}
	in := terms{log: r.Scale == design.ScaleLog}
	t, err := a.target(c, r, in, pilot, &e)
	if err != nil {
		e.Message = err.Error()
		return e
	}
	t.Power = c.Analysis.Power
	spread := a.spread(r, pilot)
	if c.WholePlots() != nil {
		out.WholePlotNoise = verdict.Number(spread)
	}
	for _, s := range familiesOf(c, kept(c, drawn)) {
		if ctx.Err() != nil {
			break
		}
		s.most, s.drawn = a.affordable(c, c.Runs()), drawn
		if s.design.Sample {
			s.design.Interplay = blockInterplay(c, s.judged(), r.Name, pilot)
			e.Interplay = verdict.Number(s.design.Interplay)
		}
		runs := s.byBlocks(spread)
		g := runs
		if s.specimens = assumedInterplay(c, s.judged(), r.Name, pilot); s.specimens != nil {
			g = s.moreBlocksOn(runs)
			e.Interplay = verdict.Number(s.specimens.sd)
		}
		z := s.size(t, g, c.Block.Count, a.Blocks, in)
		z.SameRuns = s.arrangements(c, t, in)
		if e.Noise.Measured {
			s.uncertain(&z, t, g, in)
		}
		if s.specimens != nil {
			s.specimensEnough(&z, t, s.moreSpecimens(runs), in)
		}
		e.Sizes = append(e.Sizes, z)
	}
	return e
}

// After says, from the noise measured so far, how many further blocks it takes. It
// judges the sheet to know the noise. The error is that of the verdict, or of ctx when it ends.
func (a Ask) After(ctx context.Context, s *sheet.Sheet) (*Replicates, error) {
	v, err := judged(ctx, s)
	if err != nil {
		return nil, err
	}
	c := s.Campaign
	out := replicates(c, After, question.Looks(s))
	families := a.families(s)
	for i := range v.Responses {
		out.Responses = append(out.Responses, after(ctx, c, families, &v.Responses[i], a.Blocks, a.Runs))
	}
	if err := ctx.Err(); err != nil { // which cut the answer short
		return nil, err
	}
	return out, nil
}

// Further is what After says of one response of a verdict that is there already, with the numbers of further blocks alone: it leaves out
// what other numbers achieve.
func (a Ask) Further(ctx context.Context, s *sheet.Sheet, r *verdict.Response) ResponseSize {
	families := a.families(s)
	for i := range families {
		families[i].numbersOnly = true
	}
	return after(ctx, s.Campaign, families, r, 0, 0)
}

// families are those of a campaign, with what can be afforded on top of the runs that are good.
func (a Ask) families(s *sheet.Sheet) []family {
	families := familiesSoFar(s)
	made := 0
	for _, r := range s.Runs {
		if r.Status == sheet.OK {
			made++
		}
	}
	for i := range families {
		families[i].most = a.affordable(s.Campaign, made)
	}
	return families
}

// judged is what the runs of a sheet say so far.
func judged(ctx context.Context, s *sheet.Sheet) (*verdict.Verdict, error) {
	d, q := question.Of(s)
	return verdict.Analyse(ctx, d, q)
}
