package plan

import "fairrun/design"

// drift reads [drift].
func (r *planReader) drift(t *table) (d design.Drift, ok bool) {
	d = design.Drift{Model: design.DriftLinear, Shared: true}
	if t == nil {
		return d, true
	}
	s := r.section(t, "[drift]", "model", "shared")
	model, found, okModel := s.word("model", design.DriftNone, design.DriftLinear, design.DriftQuadratic, design.DriftPosition)
	if found && okModel {
		d.Model = model
	}
	shared, found, okShared := s.truth("shared")
	if found && okShared {
		d.Shared = shared
	}
	if okModel && okShared && d.Model == design.DriftPosition && !d.Shared {
		s.add(t.byKey["shared"].at, `shared is false, but the model "position" is one shape that all blocks share`,
			"take shared out, or choose linear or quadratic")
		return d, false
	}
	return d, okModel && okShared
}
