package analysis

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/stats/law"
	"fairrun/stats/verdict"
)

// MeasuredNoise is the noise that the verdict on a campaign measured, to plan the next campaign on the
// same rig from: of each response the run-to-run standard deviation, and what else scatters. On the log
// scale with sd s it is the relative standard deviation of the lognormal law, √(exp(s²) − 1). Responses
// without a measured noise are left out. seed is that of the draw, nil without one.
func MeasuredNoise(v *verdict.Verdict, seed *uint64) plan.MeasuredCampaign {
	n := plan.MeasuredCampaign{Title: v.Campaign.Title, Scope: v.Campaign.Scope, Seed: seed}
	for i := range v.Responses {
		r := &v.Responses[i]
		if !(r.Noise.SD > 0) || !(r.Noise.DF > 0) {
			continue
		}
		unit := 1.0
		m := plan.MeasuredNoise{Name: r.Name, Unit: r.Unit, DF: float64(r.Noise.DF), Mean: level(r)}
		switch {
		case r.Scale == verdict.Log:
			m.Relative = true
		case r.Margin != nil && r.Margin.Relative:
			m.Relative, unit = true, m.Mean
		}
		in := func(sd verdict.Number) float64 {
			s := float64(sd)
			switch {
			case !sd.Known() || math.IsInf(s, 0):
				return 0
			case r.Scale == verdict.Log:
				return float64(terms{log: true}.noise(s))
			}
			return s / unit
		}
		m.SD, m.Low, m.High = in(r.Noise.SD), in(r.Noise.Low), in(r.Noise.High)
		for _, part := range r.Noise.Components {
			if sd, _ := partSD(r, part.Name); part.Name != runPart {
				m.Parts = append(m.Parts, plan.NoisePart{Name: part.Name, SD: in(sd)})
			}
		}
		n.Responses = append(n.Responses, m)
	}
	return n
}

// runPart is the part of the noise that is from run to run.
const runPart = "run"

// partSD is the standard deviation of a part of the noise: as the comparisons are judged by it, or
// else as a part of the noise between runs that share nothing.
func partSD(r *verdict.Response, name string) (sd verdict.Number, known bool) {
	for _, d := range r.Noise.Differences {
		for _, p := range d.Parts {
			if p.Name == name && p.SD.Known() {
				return p.SD, true
			}
		}
	}
	for _, c := range r.Noise.Components {
		if c.Name == name && c.SD.Known() {
			return c.SD, true
		}
	}
	return verdict.Unknown, false
}

// recorded is the noise of a response that a rig's record has, of all its campaigns together.
type recorded struct {
	sd        float64 // in the terms that the plan's margin is compared in
	df        float64
	spread    float64 // of whole plots over that
	campaigns int     // that measured it
	apart     string  // in words: whose noise differs from that of the others by more than chance; "" when none does
}

// known says whether the record has the response at all.
func (n recorded) known() bool { return n.sd > 0 && !math.IsInf(n.sd, 1) }

// differ is the level at which campaigns are said to differ in their noise.
const differ = 0.01

// recordedNoise pools the noise of a response over the campaigns of a record:
//
//	s² = Σ νi si² / Σ νi
//
// on Σ νi degrees of freedom, which takes the rig to scatter alike in all. Each campaign is held against the
// others by the F test of two variances, two-sided, with Bonferroni's bound. A record of a
// response in another unit is not that of this response.
func recordedNoise(n *plan.NoiseRecord, r *design.Response) recorded {
	out := recorded{spread: 1}
	in := terms{log: r.Scale == design.ScaleLog}
	var titles []string
	var variances, dfs []float64
	var plots, plotDF float64
	for _, c := range n.Campaigns {
		for _, m := range c.Responses {
			if m.Name != r.Name {
				continue
			}
			sd, ok := inTermsOf(m, r, in)
			if !ok {
				continue
			}
			titles, variances, dfs = append(titles, c.Title), append(variances, sd*sd), append(dfs, m.DF)
			for _, part := range m.Parts {
				if part.Name == plotName {
					ratio := part.SD / m.SD
					plots, plotDF = plots+m.DF*ratio*ratio, plotDF+m.DF
				}
			}
		}
	}
	sum, total := 0.0, 0.0
	for i, v := range variances {
		sum, total = sum+dfs[i]*v, total+dfs[i]
	}
	if total == 0 {
		return out
	}
	out.sd, out.df, out.campaigns = math.Sqrt(sum/total), total, len(variances)
	if plotDF > 0 {
		out.spread = math.Sqrt(plots / plotDF)
	}
	least := differ
	for i, v := range variances {
		if len(variances) < 2 {
			break
		}
		if len(variances) == 2 && i == 0 {
			continue // one against the other: the later is named
		}
		others, df := (sum-dfs[i]*v)/(total-dfs[i]), total-dfs[i]
		p := 2 * min(law.F{D1: dfs[i], D2: df}.Survival(v/others), law.F{D1: df, D2: dfs[i]}.Survival(others/v))
		if len(variances) > 2 {
			p = min(1, p*float64(len(variances)))
		}
		if p < least {
			least = p
			more, those := "less", "others"
			if v > others {
				more = "more"
			}
			if len(variances) == 2 {
				those = "other"
			}
			out.apart = fmt.Sprintf("%q scattered %s than the %s by more than chance makes it (p = %.2g), so the noise of all together may fit none; where the rig has changed, take out of the record what does not hold any more", titles[i], more, those, p)
		}
	}
	return out
}

// inTermsOf returns a recorded noise in the terms that the plan's margin is compared in; false where that
// cannot be done.
func inTermsOf(m plan.MeasuredNoise, r *design.Response, in terms) (sd float64, ok bool) {
	sd = m.SD
	relative := in.log || r.Margin.Relative
	if !relative && m.Unit != r.Unit {
		return 0, false
	}
	switch {
	case m.Relative && !relative:
		sd *= math.Abs(m.Mean)
	case !m.Relative && relative:
		sd /= math.Abs(m.Mean)
	}
	if in.log {
		sd = math.Sqrt(math.Log1p(sd * sd))
	}
	return sd, sd > 0 && !math.IsInf(sd, 1)
}

// Assumed is the plan with the noise that its rig was measured to have in the place of what the plan does
// not say: to rehearse it, or to explain its order. The plan itself when it names no rig.
func Assumed(c *design.Plan) (*design.Plan, error) {
	n, err := plan.Rely(c)
	if n == nil || err != nil {
		return c, err
	}
	plan := *c
	plan.Responses = slices.Clone(c.Responses)
	for i := range plan.Responses {
		r := &plan.Responses[i]
		if kept := recordedNoise(n, r); !r.Noise.Set && kept.known() {
			in := terms{log: r.Scale == design.ScaleLog}
			r.Noise = design.Amount{Set: true, Value: float64(in.noise(kept.sd)), Relative: in.log || r.Margin.Relative}
		}
	}
	if c.Simulation == nil {
		return &plan, nil
	}
	stated, before, after := *c.Simulation, c.DefaultSimulation(), plan.DefaultSimulation()
	stated.Responses = slices.Clone(stated.Responses)
	for i := range stated.Responses {
		r := &stated.Responses[i]
		if !r.Assumed {
			continue
		}
		if r.Mean == before.Responses[i].Mean { // which no one stated
			r.Mean = after.Responses[i].Mean
		}
		r.Noise, r.Assumed = after.Responses[i].Noise, after.Responses[i].Assumed
	}
	plan.Simulation = &stated
	return &plan, nil
}
