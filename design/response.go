package design

import "fmt"

// Response is what is measured, one number a run. Which way it is better has to be said in the
// plan: a direction chosen once results are in is chosen by the results.
type Response struct {
	Name   string `json:"name"`
	Unit   string `json:"unit,omitempty"`  // "" when it has none
	Better string `json:"better"`          // BetterLower or BetterHigher
	Margin Amount `json:"margin,omitzero"` // smallest difference that matters; not Set: the plan has none
	Noise  Amount `json:"noise,omitzero"`  // assumed standard deviation from run to run; not Set: unknown
	Scale  string `json:"scale"`           // ScaleRaw or ScaleLog: the plan's word, or log for a relative margin and raw otherwise
}

// Which way a response is better.
const (
	BetterLower  = "lower"
	BetterHigher = "higher"
)

// Scales on which a response is analysed.
const (
	ScaleRaw = "raw" // differences
	ScaleLog = "log" // ratios
)

// response reads one [[response]].
func (r *planReader) response(t *table) Response {
	s := r.section(t, "[[response]]", "name", "unit", "better", "margin", "noise", "scale")
	var p Response
	p.Name, _ = s.columnName(r.names, "response")
	p.Unit, _ = s.unit("unit")
	better, found, _ := s.word("better", BetterLower, BetterHigher)
	if !found {
		s.missing("better", `add better = "lower" or better = "higher": which way is better is settled before there are results`)
	}
	p.Better = better
	margin, okMargin := s.amount("margin", p.Unit)
	noise, okNoise := s.amount("noise", p.Unit)
	p.Margin, p.Noise = margin, noise
	if okMargin && okNoise && margin.Set && noise.Set && margin.Relative != noise.Relative {
		s.add(t.byKey["noise"].value.at, fmt.Sprintf("noise is %s and margin %s: one is a percentage and the other is not", noise, margin),
			"write both as percentages, or both in the response's unit, so that they can be compared")
	}
	scale, found, _ := s.word("scale", ScaleRaw, ScaleLog)
	switch {
	case found:
		p.Scale = scale
	case margin.Relative:
		p.Scale = ScaleLog
	default:
		p.Scale = ScaleRaw
	}
	return p
}
