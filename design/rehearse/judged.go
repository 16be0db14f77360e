package rehearse

import (
	"math"

	"fairrun/design"
	"fairrun/stats/compare"
	"fairrun/stats/judge"
)

// judged is a response of the plan as it is simulated and judged. All that is compared stands on
// one scale: logarithms on the log scale, per cent of a mean where a relative margin is
// read on the raw scale, otherwise the response's unit.
type judged struct {
	judge.Question
	plan     *design.Response
	response *Response
	truth    float64 // true difference that is rehearsed, in the terms of the margin; NaN: none
	noise    float64 // standard deviation on the scale of the analysis
}

func newJudged(p *design.Response, r design.Reaction, response *Response) *judged {
	m := &judged{plan: p, response: response, truth: math.NaN()}
	m.Terms = compare.TermsOf(p.Scale == design.ScaleLog, p.Margin.Set && p.Margin.Relative)
	m.Margin, m.Lower = math.NaN(), p.Better == design.BetterLower
	if p.Margin.Set {
		m.Margin = m.inTerms(p.Margin, r.Mean)
	}
	if r.Difference.Set {
		m.truth = m.inTerms(r.Difference, r.Mean)
	}
	relative := r.Noise.Value
	if !r.Noise.Relative {
		relative /= r.Mean
	}
	if m.Terms == compare.InLogs {
		m.noise = math.Sqrt(math.Log1p(relative * relative)) // of the lognormal law with that relative standard deviation
	} else {
		m.noise = relative * r.Mean
		m.Centre = r.Mean
	}
	return m
}

// inTerms puts a difference in the terms of the margin.
func (m *judged) inTerms(a design.Amount, mean float64) float64 {
	switch {
	case m.Terms == compare.InLogs && !a.Relative:
		return m.Terms.Margin(a.Value / mean)
	case m.Terms == compare.InUnits && a.Relative:
		return a.Value * mean
	}
	return m.Terms.Margin(a.Value)
}

// value is what a run gives when nothing differs, less the centre; drift is the logarithm of what the
// bench does to it and z the noise in standard deviations.
func (m *judged) value(drift, z float64) float64 {
	if m.Terms == compare.InLogs {
		return drift + m.noise*z
	}
	return m.response.Base*math.Exp(drift) - m.Centre + m.noise*z
}

// shift is what the true difference adds to a run of the level that differs.
func (m *judged) shift(drift float64) float64 {
	if m.Terms == compare.InPercent {
		return m.Terms.Stated(m.truth) * m.response.Base * math.Exp(drift)
	}
	return m.truth
}

// observed is what the instrument shows for a value.
func (m *judged) observed(y float64) float64 {
	if m.Terms == compare.InLogs {
		return m.response.Base * math.Exp(y)
	}
	return m.Centre + y
}
