package plan

import "fairrun/design"

// drift reads [drift].
func (r *planReader) drift(t *table) (d design.Drift, ok bool) {
	d = design.Drift{Model: design.DriftLinear}
	if t == nil {
		return d, true
	}
	s := r.section(t, "[drift]")
	model, found, okModel := s.word("model")
	if found && okModel {
		d.Model = model
	}
	own, _, okOwn := s.truth("own")
	d.Own = own
	if okModel && okOwn && d.Model == design.DriftPosition && d.Own {
		s.add(t.byKey["own"].at, `own is true, but the model "position" is one shape that all blocks have in common`,
			"take own out, or choose linear, quadratic or curve")
		return d, false
	}
	return d, okModel && okOwn
}
