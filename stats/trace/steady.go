package trace

import "math"

// steady is the mean of the settled state after each step; of the whole log where there is
// no step.
func (d Definition) steady(r Run) Value {
	steps := Steps(r.Of, r.Command)
	if len(steps) > 0 {
		v := d.overSteps(steps)
		v.Uncertainty = math.Hypot(v.Uncertainty, r.Of.zeroU)
		return v
	}
	tr := r.Of.fresh()
	if len(tr.Time) < minSettled {
		return refused(refusedf("%d rows, %d are needed", len(tr.Time), minSettled))
	}
	s := lineState(tr.Time, tr.Value)
	v, _ := s.average(tr.Quantum)
	v.Uncertainty = math.Hypot(v.Uncertainty, tr.zeroU)
	v.Notes = []string{"no step: the mean of the whole log"}
	return v
}

func (s *Step) steady() (Value, error) { return s.After.average(s.tr.Quantum) }

// average is the mean of a state's rows.
func (s *State) average(quantum float64) (Value, error) {
	var u budget
	s.addLevel(&u, s.centre, quantum)
	v := measured(s.mean, u.u(), s.From, s.To)
	v.Drift = s.slope * (s.To - s.From)
	return v, nil
}
