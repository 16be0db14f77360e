package plan

import (
	"fairrun/design"
	"fmt"
)

// response reads one [[response]].
func (r *planReader) response(t *table, c *design.Plan) design.Response {
	s := r.section(t, "[[response]]")
	var p design.Response
	p.Name, _ = s.columnName(r.names, "response")
	p.Unit, _ = s.unit("unit")
	better, found, _ := s.word("better")
	if !found {
		s.lacks("better")
	}
	p.Better = better
	margin, okMargin := s.amount("margin", p.Unit)
	noise, okNoise := s.amount("noise", p.Unit)
	p.Margin, p.Noise = margin, noise
	if okMargin && okNoise && margin.Set && noise.Set && margin.Relative != noise.Relative {
		s.add(t.byKey["noise"].value.at, fmt.Sprintf("noise is %s and margin %s: one is a percentage and the other is not", noise, margin),
			"write both as percentages, or both in the response's unit, so that they can be compared")
	}
	scale, found, _ := s.word("scale")
	switch {
	case found:
		p.Scale = scale
	case margin.Relative:
		p.Scale = design.ScaleLog
	default:
		p.Scale = design.ScaleRaw
	}
	if t := s.sub("measure", "[response.measure]"); t != nil {
		p.Measure = r.measure(t, c, &p)
	}
	return p
}
