package analysis

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Ask is the question how many blocks it takes. The zero value asks what the plan
// says of itself.
type Ask struct {
	Runs   int                      // to share out over units or whole plots and repeats, after results; 0: those of the plan
	Blocks int                      // a size to answer for besides; further blocks after results; 0: none
	Most   int                      // blocks that could be afforded; 0: those of [power.Affordable] runs, 500 at the most
	Noise  map[string]design.Amount // of a response, in place of what the plan assumes
	Pilot  *sheet.Sheet             // a campaign whose measured noise takes the place of what is assumed, with its uncertainty
	Record *plan.NoiseRecord        // the same from the record that a campaign left
	From   string                   // what the pilot or the record is called

	rig *plan.NoiseRecord // of the plan's rig, for what neither the question nor the plan states

	// Spread is the standard deviation between whole plots of one setting over that
	// between runs within one; nil: that of the pilot, or 1.
	Spread *float64
}

// mostBlocks bounds the search for enough blocks.
const mostBlocks = 500

// affordable is the most blocks of a plan that are tried, of which so many runs are planned or made.
func (a Ask) affordable(c *design.Plan, runs int) int {
	if a.Most > 0 {
		return a.Most
	}
	return min(mostBlocks, max(1, power.Affordable(runs)/c.RunsPerBlock()))
}

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
// the pilot's verdict, or of the rig's record.
func (a Ask) Before(c *design.Plan) (*Replicates, error) {
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
		if measured, err = judged(a.Pilot); err != nil {
			return nil, err
		}
	case a.Record == nil:
		if a.rig, err = plan.Rely(&asked); err != nil {
			return nil, err
		}
	}
	out := replicates(&asked, Before)
	out.Pilot = a.From
	if a.rig != nil {
		out.Rig = c.Rig.Name
	}
	drawn := seedOrder(&asked)
	for i := range asked.Responses {
		out.Responses = append(out.Responses, a.before(&asked, &asked.Responses[i], measured, drawn, out))
	}
	return out, nil
}

func (a Ask) before(c *design.Plan, r *design.Response, pilot *verdict.Verdict, drawn *order.Drawn, out *Replicates) Enough {
	e := Enough{Name: r.Name, Unit: r.Unit, Margin: marginOf(r.Margin), Sizes: []Size{},
		Noise: Noise{SD: verdict.Unknown, Low: verdict.Unknown, High: verdict.Unknown, DF: verdict.Unknown, Kept: verdict.Unknown}, Interplay: verdict.Unknown}
	in := terms{log: r.Scale == design.ScaleLog}
	t, err := a.target(c, r, in, pilot, &e)
	if err != nil {
		e.Message = err.Error()
		return e
	}
	t.Power = c.Analysis.Power
	spread := a.spread(r, pilot)
	if c.WholePlots() != nil {
		out.Spread = verdict.Number(spread)
	}
	for _, s := range shapes(c, kept(drawn)) {
		s.most, s.drawn = a.affordable(c, c.Runs()), drawn
		runs := s.byBlocks(spread)
		g := runs
		if s.units = assumedInterplay(c, s.factor, r.Name, pilot); s.units != nil {
			g = s.moreBlocksOn(runs)
			e.Interplay = verdict.Number(s.units.sd)
		}
		z := s.size(t, g, c.Block.Count, a.Blocks, in)
		if e.Noise.Measured {
			s.uncertain(&z, t, g, in)
		}
		if s.units != nil {
			s.unitsEnough(&z, t, s.moreUnits(runs), in)
		}
		e.Sizes = append(e.Sizes, z)
	}
	return e
}

// target is what the margin of a response asks for, with the noise that is stated
// now, that of the pilot or the record, that of the plan, or that of its rig's record, in this order.
func (a Ask) target(c *design.Plan, r *design.Response, in terms, pilot *verdict.Verdict, e *Enough) (power.Target, error) {
	n := &e.Noise
	_, stated := a.Noise[r.Name]
	if !stated && pilot != nil {
		k := slices.IndexFunc(pilot.Responses, func(p verdict.Response) bool { return p.Name == r.Name })
		if k >= 0 && pilot.Responses[k].Noise.SD.Known() {
			if !r.Margin.Set {
				return power.Target{}, errNoMargin
			}
			noise := power.Noise{SD: pilotNoise(&pilot.Responses[k], r, in), DF: float64(pilot.Responses[k].Noise.DF)}
			return n.measured(r, in, noise), nil
		}
	}
	if !stated && a.Record != nil {
		if t, known, err := e.kept(recordedNoise(a.Record, r), a.From, r, in); known {
			return t, err
		}
	}
	var rig recorded
	if a.rig != nil {
		rig = recordedNoise(a.rig, r)
	}
	if a.rig != nil && !r.Noise.Set {
		if t, known, err := e.kept(rig, c.Rig.Name, r, in); known {
			return t, err
		}
	}
	t, _, err := assumed(*r)
	if err == nil {
		n.SD = verdict.Number(r.Noise.Value)
		if rig.known() {
			n.Source = fmt.Sprintf("stated in place of that of %s, which %s measured", c.Rig.Name, campaignsOf(rig))
			n.Kept = in.noise(rig.sd)
		}
	}
	return t, err
}

// kept fills in the noise that a record has of a response; known is false when it has none.
func (e *Enough) kept(n recorded, of string, r *design.Response, in terms) (t power.Target, known bool, err error) {
	switch {
	case !n.known():
		return t, false, nil
	case !r.Margin.Set:
		return t, true, errNoMargin
	}
	e.Caution = n.apart
	e.Noise.Source = fmt.Sprintf("that of %s, which %s measured", of, campaignsOf(n))
	return e.Noise.measured(r, in, power.Noise{SD: n.sd, DF: n.df}), true, nil
}

// campaignsOf says how many campaigns measured a noise, and with how many degrees of freedom.
func campaignsOf(n recorded) string {
	df := strconv.FormatFloat(math.Round(n.df*10)/10, 'g', -1, 64)
	return words.Count(n.campaigns, "campaign") + " with " + words.Degrees(df)
}

// measured fills in noise that was measured before and returns what a margin asks for
// with it.
func (n *Noise) measured(r *design.Response, in terms, noise power.Noise) power.Target {
	n.Measured, n.DF = true, verdict.Number(noise.DF)
	low, high := noise.Interval(noiseConfidence)
	n.SD, n.Low, n.High = in.to(noise.SD), in.to(low), in.to(high)
	return power.Target{Margin: in.from(r.Margin.Value), Noise: noise}
}

// pilotNoise is the noise that a pilot measured of a response, in the terms that the
// margin of the plan is compared in: logs, shares of the mean or the unit.
func pilotNoise(p *verdict.Response, r *design.Response, in terms) float64 {
	sd, logs := float64(p.Noise.SD), p.Scale == verdict.Log
	switch {
	case logs && (in.log || r.Margin.Relative):
		return sd
	case logs:
		return sd * level(p)
	case in.log:
		v := sd / level(p)
		return math.Sqrt(math.Log1p(v * v))
	case r.Margin.Relative:
		return sd / level(p)
	}
	return sd
}

// spread is how much whole plots of one setting vary, over what runs within one do.
func (a Ask) spread(r *design.Response, pilot *verdict.Verdict) float64 {
	response := r.Name
	if a.Spread != nil {
		return *a.Spread
	}
	for _, record := range []*plan.NoiseRecord{a.Record, a.rig} {
		if record != nil {
			if n := recordedNoise(record, r); n.known() {
				return n.spread
			}
		}
	}
	if pilot != nil {
		for i := range pilot.Responses {
			p := &pilot.Responses[i]
			if sd, known := partSD(p, plotName); known && p.Name == response && p.Noise.SD > 0 {
				return float64(sd / p.Noise.SD)
			}
		}
	}
	return 1
}

// After says, from the noise measured so far, how many further blocks it takes. It
// judges the sheet to know the noise.
func (a Ask) After(s *sheet.Sheet) (*Replicates, error) {
	v, err := judged(s)
	if err != nil {
		return nil, err
	}
	c := s.Campaign
	out := replicates(c, After)
	families := shapesSoFar(s)
	made := 0
	for _, r := range s.Runs {
		if r.Status == sheet.OK {
			made++
		}
	}
	for i := range families {
		families[i].most = a.affordable(c, made)
	}
	for i := range v.Responses {
		out.Responses = append(out.Responses, after(c, families, &v.Responses[i], a.Blocks, a.Runs))
	}
	return out, nil
}

// judged is what the runs of a sheet say so far.
func judged(s *sheet.Sheet) (*verdict.Verdict, error) {
	d, q := Question(s)
	return verdict.Analyse(context.Background(), d, q)
}
