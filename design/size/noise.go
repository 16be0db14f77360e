package size

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// noiseConfidence is that of the limits between which the measured noise is
// taken to lie.
const noiseConfidence = 0.8

// target is what the margin of a response asks for, with the noise that is stated
// now, that of the pilot or the record, that of the plan, or that of its rig's record, in this order.
func (a Ask) target(c *design.Plan, r *design.Response, in terms, pilot *verdict.Verdict, e *ResponseSize) (power.Target, error) {
	n := &e.Noise
	_, stated := a.Noise[r.Name]
	if !stated && pilot != nil {
		k := slices.IndexFunc(pilot.Responses, func(p verdict.Response) bool { return p.Name == r.Name })
		if k >= 0 && pilot.Responses[k].Noise.SD.Known() {
			if !r.Margin.Set {
				return power.Target{}, errNoMargin
			}
			noise := power.Scatter{SD: pilotNoise(&pilot.Responses[k], r, in), DF: float64(pilot.Responses[k].Noise.DF)}
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
func (e *ResponseSize) kept(n recorded, of string, r *design.Response, in terms) (t power.Target, known bool, err error) {
	switch {
	case !n.known():
		return t, false, nil
	case !r.Margin.Set:
		return t, true, errNoMargin
	}
	e.Caution = n.apart
	e.Noise.Source = fmt.Sprintf("that of %s, which %s measured", of, campaignsOf(n))
	return e.Noise.measured(r, in, power.Scatter{SD: n.sd, DF: n.df}), true, nil
}

// campaignsOf says how many campaigns measured a noise, and with how many degrees of freedom.
func campaignsOf(n recorded) string {
	df := strconv.FormatFloat(math.Round(n.df*10)/10, 'g', -1, 64)
	return words.Count(n.campaigns, "campaign") + " with " + words.Degrees(df)
}

// measured fills in noise that was measured before and returns what a margin asks for
// with it.
func (n *RunNoise) measured(r *design.Response, in terms, noise power.Scatter) power.Target {
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
	if a.WholePlotNoise != nil {
		return *a.WholePlotNoise
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
			if sd, known := componentSD(p, question.WholePlot); known && p.Name == response && p.Noise.SD > 0 {
				return float64(sd / p.Noise.SD)
			}
		}
	}
	return 1
}

// assumed is what a response's margin and assumed noise ask for, on the scale
// of the analysis. A relative noise v is a standard deviation of logs of
// √log(1+v²), as for the lognormal law.
func assumed(r design.Response) (power.Target, terms, error) {
	in := terms{log: r.Scale == design.ScaleLog}
	switch {
	case !r.Margin.Set:
		return power.Target{}, in, errNoMargin
	case !r.Noise.Set:
		return power.Target{}, in, errNoNoise
	case r.Margin.Relative != r.Noise.Relative:
		return power.Target{}, in, errUnits
	}
	sd := r.Noise.Value
	if in.log {
		sd = math.Sqrt(math.Log1p(sd * sd))
	}
	return power.Target{Margin: in.from(r.Margin.Value), Noise: power.Scatter{SD: sd}}, in, nil
}

// errors of a response that no number can be given for.
var (
	errNoMargin = errors.New("no margin is stated: say in the plan what difference would matter")
	errNoNoise  = errors.New("no noise is stated: write in the plan what you expect from run to run (a guess will do), or measure first")
	errUnits    = errors.New("margin and noise are stated in different terms: give both in per cent, or both in the unit")
)
