package analysis

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// Ask is the question how many blocks it takes. The zero value asks what the plan
// says of itself.
type Ask struct {
	Runs   int                      // to share out over units or whole plots and repeats, after results; 0: those of the plan
	Blocks int                      // a size to answer for besides; further blocks after results; 0: none
	Most   int                      // blocks that could be afforded; 0: 500
	Noise  map[string]design.Amount // of a response, in place of what the plan assumes
	Pilot  *sheet.Sheet             // a campaign whose measured noise takes the place of what is assumed, with its uncertainty
	Record *design.NoiseRecord      // the same from the record that a campaign left
	From   string                   // what the pilot or the record is called

	// Spread is the standard deviation between whole plots of one setting over that
	// between runs within one; nil: that of the pilot, or 1.
	Spread *float64
}

// mostBlocks bounds the search for enough blocks.
const mostBlocks = 500

// affordable is the most blocks that are tried.
func (a Ask) affordable() int {
	if a.Most > 0 {
		return a.Most
	}
	return mostBlocks
}

// UnknownResponseError says that noise was stated of a response that the plan does
// not have.
type UnknownResponseError struct {
	Name  string
	Known []string
}

func (e *UnknownResponseError) Error() string {
	return fmt.Sprintf("there is no response %q; the plan has %s", e.Name, quoted(e.Known))
}

// Before says how many blocks a plan takes, from noise that is assumed or that a
// pilot has measured.
func (a Ask) Before(c *design.Campaign) (*Replicates, error) {
	plan := *c
	plan.Responses = slices.Clone(c.Responses)
	var names []string
	for _, r := range c.Responses {
		names = append(names, r.Name)
	}
	for name, noise := range a.Noise {
		k := slices.Index(names, name)
		if k < 0 {
			return nil, &UnknownResponseError{name, names}
		}
		plan.Responses[k].Noise = noise
	}
	var measured *verdict.Verdict
	if a.Pilot != nil {
		var err error
		if measured, err = VerdictOver(a.Pilot, 0); err != nil {
			return nil, err
		}
	}
	out := replicates(&plan, Before)
	out.Pilot = a.From
	for i := range plan.Responses {
		out.Responses = append(out.Responses, a.before(&plan, &plan.Responses[i], measured, out))
	}
	return out, nil
}

func (a Ask) before(c *design.Campaign, r *design.Response, pilot *verdict.Verdict, out *Replicates) Enough {
	e := Enough{Name: r.Name, Unit: r.Unit, Margin: marginOf(r.Margin), Sizes: []Size{},
		Noise: Noise{SD: verdict.Unknown, Low: verdict.Unknown, High: verdict.Unknown, DF: verdict.Unknown}}
	in := terms{log: r.Scale == design.ScaleLog}
	t, err := a.target(r, in, pilot, &e.Noise)
	if err != nil {
		e.Message = err.Error()
		return e
	}
	t.Power = c.Analysis.Power
	spread := a.spread(r, pilot)
	if c.WholePlots() != nil {
		out.Spread = verdict.Number(spread)
	}
	for _, s := range shapes(c, efficiency(c)) {
		s.most = a.affordable()
		g := s.byBlocks(spread)
		z := s.size(t, g, c.Block.Count, a.Blocks, in)
		if e.Noise.Measured {
			s.uncertain(&z, t, g, in)
		}
		e.Sizes = append(e.Sizes, z)
	}
	return e
}

// target is what the margin of a response asks for, with the noise that is stated
// now, that of the pilot or the record, or that of the plan, in this order.
func (a Ask) target(r *design.Response, in terms, pilot *verdict.Verdict, n *Noise) (power.Target, error) {
	if _, stated := a.Noise[r.Name]; !stated && pilot != nil {
		k := slices.IndexFunc(pilot.Responses, func(p verdict.Response) bool { return p.Name == r.Name })
		if k >= 0 && pilot.Responses[k].Noise.SD.Known() {
			if !r.Margin.Set {
				return power.Target{}, errNoMargin
			}
			noise := power.Noise{SD: pilotNoise(&pilot.Responses[k], r, in), DF: float64(pilot.Responses[k].Noise.DF)}
			return n.measured(r, in, noise), nil
		}
	}
	if _, stated := a.Noise[r.Name]; !stated && a.Record != nil {
		if sd, df, _, known := recordedNoise(a.Record, r); known {
			if !r.Margin.Set {
				return power.Target{}, errNoMargin
			}
			return n.measured(r, in, power.Noise{SD: sd, DF: df}), nil
		}
	}
	t, _, err := assumed(*r)
	if err == nil {
		n.SD = verdict.Number(r.Noise.Value)
	}
	return t, err
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
	if a.Record != nil {
		if _, _, spread, known := recordedNoise(a.Record, r); known {
			return spread
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
	v, err := VerdictOver(s, 0)
	if err != nil {
		return nil, err
	}
	c := s.Campaign
	out := replicates(c, After)
	families := shapesSoFar(s)
	for i := range families {
		families[i].most = a.affordable()
	}
	for i := range v.Responses {
		out.Responses = append(out.Responses, after(c, families, &v.Responses[i], a.Blocks, a.Runs))
	}
	return out, nil
}
