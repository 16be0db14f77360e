package analysis

import (
	"math"

	"fairrun/design"
	"fairrun/stats/verdict"
)

// NoiseRecord is the noise that a verdict measured, to plan the next campaign on
// the same rig from: of each response the run-to-run standard deviation, and what
// else scatters. On the log scale with sd s it is the relative standard deviation of
// the lognormal law, √(exp(s²) − 1). Responses without a measured noise are left out.
func NoiseRecord(v *verdict.Verdict) *design.NoiseRecord {
	n := &design.NoiseRecord{Title: v.Campaign.Title, Scope: v.Campaign.Scope}
	for i := range v.Responses {
		r := &v.Responses[i]
		if !(r.Noise.SD > 0) || !(r.Noise.DF > 0) {
			continue
		}
		unit := 1.0
		m := design.MeasuredNoise{Name: r.Name, Unit: r.Unit, DF: float64(r.Noise.DF), Mean: level(r)}
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
			if part.Name != runPart {
				m.Parts = append(m.Parts, design.NoisePart{Name: part.Name, SD: in(part.SD)})
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

// recordedNoise is the recorded noise of a response in the terms that the plan's
// margin is compared in, and what whole plots scatter over it; known is false when
// the record has no such response, or cannot be put into those terms.
func recordedNoise(n *design.NoiseRecord, r *design.Response) (sd, df, spread float64, known bool) {
	in := terms{log: r.Scale == design.ScaleLog}
	for _, m := range n.Responses {
		if m.Name != r.Name {
			continue
		}
		sd = m.SD
		switch relative := in.log || r.Margin.Relative; {
		case m.Relative && !relative:
			sd *= math.Abs(m.Mean)
		case !m.Relative && relative:
			sd /= math.Abs(m.Mean)
		}
		if in.log {
			sd = math.Sqrt(math.Log1p(sd * sd))
		}
		spread = 1
		for _, part := range m.Parts {
			if part.Name == plotName {
				spread = part.SD / m.SD
			}
		}
		return sd, m.DF, spread, sd > 0 && !math.IsInf(sd, 1)
	}
	return 0, 0, 0, false
}
