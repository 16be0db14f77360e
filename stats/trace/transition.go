package trace

import (
	"fmt"
	"math"
)

const maxUncertain = 0.1 // of a duration; beyond it is refused

// shareOf returns a reference level as a share of this step. For a value the sign
// of a mirrored signal is turned.
func (s *Step) shareOf(r Reference) float64 {
	if !r.absolute {
		return r.share
	}
	value := r.value
	if s.Falling {
		value = -value
	}
	return (value - s.lo) / (s.hi - s.lo)
}

// levelPull returns by how much an instant moves with the levels before and after,
// in s per unit of the signal.
func levelPull(r Reference, c crossing) (before, after float64) {
	if r.absolute {
		return 0, 0
	}
	return (1 - r.share) / c.slope, r.share / c.slope
}

// addLevels adds the uncertainty of the two levels, weighted.
func (s *Step) addLevels(b *budget, before, after float64) {
	var lo, hi budget
	s.before.addLevel(&lo, s.T50, s.tr.Quantum)
	s.after.addLevel(&hi, s.T50, s.tr.Quantum)
	b.join(lo.scaled(before))
	hi.add(s.after.ringing*s.after.ringing, math.Inf(1))
	b.join(hi.scaled(after))
}

func (s *Step) transition(from, to Reference) (Value, error) {
	a, b := s.shareOf(from), s.shareOf(to)
	if a > b {
		from, to, a, b = to, from, b, a
	}
	if a <= 0 || b >= 1 {
		return Value{}, refusedf("the step does not pass both levels")
	}
	first, err := s.cross(a)
	if err != nil {
		return Value{}, err
	}
	second, err := s.cross(b)
	if err != nil {
		return Value{}, err
	}
	duration := second.t - first.t
	u := first.noise
	u.join(second.noise)
	lo1, hi1 := levelPull(from, first)
	lo2, hi2 := levelPull(to, second)
	s.addLevels(&u, lo2-lo1, hi2-hi1)
	if !(duration > 0) || u.u() > maxUncertain*duration {
		return Value{}, steeredf("its uncertainty of %.2g ms is more than a tenth of %.3g ms", 1e3*u.u(), 1e3*duration)
	}
	v := measured(duration, u.u(), first.t, second.t)
	if rows := s.span() / s.tr.Interval; rows < fewOnEdge {
		v.Notes = append(v.Notes, fmt.Sprintf("few samples on the edge: %.0f", math.Round(rows)))
	}
	return v, nil
}

func (s *Step) delay(to Reference) (Value, error) {
	share := s.shareOf(to)
	if share <= 0 || share >= 1 {
		return Value{}, refusedf("the step does not pass the level")
	}
	c, err := s.cross(share)
	if err != nil {
		return Value{}, err
	}
	u := c.noise
	u.add(s.Command.U*s.Command.U, math.Inf(1))
	lo, hi := levelPull(to, c)
	s.addLevels(&u, lo, hi)
	return measured(c.t-s.Command.Time, u.u(), s.Command.Time, c.t), nil
}
