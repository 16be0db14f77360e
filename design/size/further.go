package size

import (
	"context"
	"math"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/design/question"
	"fairrun/stats/compare"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// after answers from what is known of a response; asked is a number of further blocks
// of interest, 0 if none is; runs is a number of runs to share out, 0 for those of the plan.
func after(ctx context.Context, c *design.Plan, families []family, r *verdict.Response, asked, runs int) ResponseSize {
	e := ResponseSize{Name: r.Name, Unit: r.Unit, Margin: r.Margin, Sizes: []FamilySize{}}
	in := terms{log: r.Scale == verdict.Log}
	unit := 1.0 // what the terms of the margin are multiplied by to reach the response's unit
	if r.Margin != nil && r.Margin.Relative && !in.log {
		unit = level(r)
	}
	noise := power.Scatter{SD: float64(r.Noise.SD) / unit, DF: float64(r.Noise.DF)}
	e.Noise = RunNoise{SD: verdict.Unknown, Low: verdict.Unknown, High: verdict.Unknown, DF: r.Noise.DF, Measured: true, Kept: verdict.Unknown}
	e.Interplay = verdict.Unknown
	switch {
	case r.Margin == nil:
		e.Message = errNoMargin.Error()
	case r.Unscaled() != "":
		e.Message = r.Unscaled()
	case !r.Noise.SD.Known():
		e.Message = "the runs so far leave nothing to judge noise by: do more of the plan first"
	}
	if r.Noise.SD.Known() {
		low, high := noise.Interval(noiseConfidence)
		e.Noise.SD, e.Noise.Low, e.Noise.High = in.noise(noise.SD), in.noise(low), in.noise(high)
	}
	if r.Margin != nil {
		e.Allocation = shareOut(c, r, runs, in, unit)
	}
	if e.Message != "" {
		return e
	}
	e.Caution = specimensDiffer(c, r, noise)
	t := power.Target{Margin: in.from(r.Margin.Value), Noise: noise, Power: c.Analysis.Power}
	for _, s := range families {
		if ctx.Err() != nil {
			break
		}
		if sd, known := judgedBySpecimens(c, r, s.judged()); known {
			s.specimens = &interplay{c.Specimens.Count, sd}
			if !(float64(e.Interplay) > sd) {
				e.Interplay = verdict.Number(sd)
			}
		}
		now := s.reached(r)
		g := s.moreBlocks(now)
		t := t
		t.Noise.DF = now.DF // what this family is judged by is known with
		z := s.size(t, g, 0, asked, in)
		s.uncertain(&z, t, g, in)
		if s.specimens != nil && !math.IsInf(now.SE, 1) {
			s.specimensEnough(&z, t, s.specimensInAll(now), in)
		}
		z.Open = s.open(r, t, in)
		e.Sizes = append(e.Sizes, z)
	}
	return e
}

// level is the mean of the adjusted means, which a relative margin on the raw
// scale is a share of.
func level(r *verdict.Response) float64 {
	sum, n := 0.0, 0
	for _, m := range r.Means {
		if m.Estimate.Known() {
			sum += math.Abs(float64(m.Estimate))
			n++
		}
	}
	return sum / float64(n)
}

// reached is the precision of the least precise comparison of a family; nothing is
// known where some level has no run yet.
func (s family) reached(r *verdict.Response) power.Precision {
	p := power.Precision{DF: float64(r.Noise.DF)}
	for _, c := range r.Comparisons {
		if now := s.precision(r, c); c.Factors.Term() == s.name() && now.SE > p.SE {
			p = now
		}
	}
	if p.SE == 0 {
		p.SE = math.Inf(1)
	}
	return p
}

// precision is what a comparison has now, less what several looks cost.
func (s family) precision(r *verdict.Response, c verdict.Comparison) power.Precision {
	return power.Precision{SE: float64(c.SE) / float64(r.Noise.SD) * math.Sqrt(question.Inflation(s.plan)), DF: float64(c.DF)}
}

// uncertain fills in what the noise's own uncertainty does to the number needed.
func (s family) uncertain(z *FamilySize, t power.Target, g power.Growth, in terms) {
	if s.numbersOnly {
		assured, err := s.compare.NeededAssured(t, g, max(g.Least, s.most))
		z.Assured = s.found(assured, err, t, g, in)
		return
	}
	r, err := s.compare.Range(t, g, max(g.Least, s.most), noiseConfidence)
	if err != nil {
		return
	}
	z.Low = s.found(r.Low, nil, t, g, in)
	z.High = s.found(r.High, nil, t, g, in)
	z.Assured = s.found(r.Assured, nil, t, g, in)
}

// open lists what is still unresolved, and how many further blocks would settle
// it whatever its true difference, the noise taken as high as the verdict takes it.
func (s family) open(r *verdict.Response, t power.Target, in terms) []Open {
	out := []Open{}
	t.Goal = power.Settle
	sd := t.Noise.SD
	for _, c := range r.Comparisons {
		if c.Factors.Term() != s.name() || c.Verdict != compare.Unresolved {
			continue
		}
		o := Open{Level: c.Level, Against: c.Against}
		if c.SE.Known() && s.plan.Analysis.Compare != design.CompareBest {
			now := s.precision(r, c)
			t.Noise = power.Scatter{SD: power.Scatter{SD: sd, DF: now.DF}.Upper(verdict.NoiseConfidence)}
			if p := s.needed(t, s.moreBlocks(now), in); p != nil {
				o.Needed = &Further{p.Blocks}
			}
		}
		out = append(out, o)
	}
	return out
}

// AskedFor is how many further blocks the measured noise of a campaign asks for, with the plan of the time: the
// most of any response and family. A number beyond [MostBlocks] is any above it. known is false when it
// asks for nothing that can be computed, or ctx ends.
func AskedFor(ctx context.Context, c *design.Plan, o *order.Drawn, v *verdict.Verdict) (further int, known bool) {
	families := familiesOf(c, kept(c, o))
	for i := range v.Responses {
		for _, z := range after(ctx, c, families, &v.Responses[i], 0, 0).Sizes {
			known = true
			switch {
			case z.Needed == nil:
				further = MostBlocks + c.Block.Count + 1
			case z.Assured != nil:
				further = max(further, z.Assured.Blocks)
			default:
				further = max(further, z.Needed.Blocks)
			}
		}
	}
	return further, known
}
