package rehearse

import (
	"math"

	"fairrun/design"
)

// measure is a response of the plan as it is simulated and judged. All that is compared stands on
// one scale: logarithms on the log scale, per cent of a mean where a relative margin is
// read on the raw scale, otherwise the response's unit.
type measure struct {
	plan     *design.Response
	response *Response
	log      bool    // analysed on the log scale
	percent  bool    // compared in per cent of the mean of the level that is held against
	lower    bool    // is better
	margin   float64 // NaN: none
	truth    float64 // true difference that is rehearsed; NaN: none
	noise    float64 // standard deviation on the scale of the analysis
	centre   float64 // taken from every value
}

func newMeasure(p *design.Response, r design.Reaction, response *Response) *measure {
	m := &measure{
		plan: p, response: response, lower: p.Better == design.BetterLower,
		log: p.Scale == design.ScaleLog, margin: math.NaN(), truth: math.NaN(),
	}
	m.percent = !m.log && p.Margin.Set && p.Margin.Relative
	if p.Margin.Set {
		m.margin = m.onScale(p.Margin, r.Mean)
	}
	if r.Difference.Set {
		m.truth = m.onScale(r.Difference, r.Mean)
	}
	relative := r.Noise.Value
	if !r.Noise.Relative {
		relative /= r.Mean
	}
	if m.log {
		m.noise = math.Sqrt(math.Log1p(relative * relative)) // of the lognormal law with that relative standard deviation
	} else {
		m.noise = relative * r.Mean
		m.centre = r.Mean
	}
	return m
}

// onScale puts a difference on the scale of the comparison.
func (m *measure) onScale(a design.Amount, mean float64) float64 {
	switch {
	case m.percent:
		return 100 * a.Value
	case m.log && a.Relative:
		return math.Log1p(a.Value)
	case m.log:
		return math.Log1p(a.Value / mean)
	case a.Relative:
		return a.Value * mean
	}
	return a.Value
}

// offScale puts a difference on the scale of the comparison into the terms of the margin: a share if
// it is relative, otherwise the response's unit.
func (m *measure) offScale(d float64) float64 {
	switch {
	case m.percent:
		return d / 100
	case m.log:
		return math.Expm1(d)
	}
	return d
}

// value is what a run gives when nothing differs, less the centre; drift is the logarithm of what the
// bench does to it and z the noise in standard deviations.
func (m *measure) value(drift, z float64) float64 {
	if m.log {
		return drift + m.noise*z
	}
	return m.response.Base*math.Exp(drift) - m.centre + m.noise*z
}

// shift is what the true difference adds to a run of the level that differs.
func (m *measure) shift(drift float64) float64 {
	if m.percent {
		return m.truth / 100 * m.response.Base * math.Exp(drift)
	}
	return m.truth
}

// observed is what the instrument shows for a value.
func (m *measure) observed(y float64) float64 {
	if m.log {
		return m.response.Base * math.Exp(y)
	}
	return m.centre + y
}
