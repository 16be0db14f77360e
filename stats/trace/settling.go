package trace

import "math"

const (
	leastBand   = 1.7 // noises that a settling band must be wide on either side
	leastSmooth = 5.0 // standard deviations of the smoothed signal, likewise
)

// settling is the time from the 50 % instant to the last entry into a band around the
// settled line, read off local quadratics over ± T/4.
func (s *Step) settling(within float64) (Value, error) {
	middle, err := s.cross(0.5)
	if err != nil {
		return Value{}, err
	}
	band := within * s.size()
	if band < leastBand*s.noise() {
		return Value{}, refusedf("the band is %.2g times the noise, %.2g times is needed", band/s.noise(), leastBand)
	}
	at, p, err := s.lastEntry(band)
	if err != nil {
		return Value{}, err
	}
	slope := p.slope(at) - s.after.slope
	u := middle.noise
	noise2, df, f := s.noiseNear(&p, slope)
	u.add(noise2*f*p.lever(at)/(slope*slope), df)
	s.addRow(&u)
	var line budget
	s.after.addLevel(&line, at, s.tr.Quantum)
	u.join(line.scaled(1 / slope))
	lo, hi := levelPull(Share(0.5), middle)
	s.addLevels(&u, lo, hi)
	return measured(at-middle.t, u.u(), middle.t, at), nil
}

// lastEntry looks backwards from the settled state for the last instant at which the
// smoothed signal lies outside of the band, and returns where it enters.
func (s *Step) lastEntry(band float64) (float64, local, error) {
	T := s.span()
	off := func(at float64) (float64, local, bool) {
		t, v := s.tr.between(at-T/4, at+T/4)
		if len(t) < crossRows {
			t, v = s.widened(at)
		}
		p, ok := fitLocal(t, v, nil, at, 2)
		return p.at(at) - s.after.At(at), p, ok && len(t) >= crossRows
	}
	end := s.after.To - T/4
	stride := max(T/20, s.tr.Interval)
	first := true
	for at := end; at > s.T50; at -= stride {
		d, p, ok := off(at)
		if !ok {
			continue
		}
		if first {
			if noise2, _, f := s.noiseNear(nil, 0); band < leastSmooth*math.Sqrt(noise2*f*p.lever(at)) {
				return 0, p, refusedf("the band is too narrow for the noise")
			}
		}
		if math.Abs(d) <= band {
			first = false
			continue
		}
		if first {
			return 0, p, refusedf("it does not settle within the band before the state ends")
		}
		outside, inside := at, at+stride
		for range 40 {
			mid := (outside + inside) / 2
			if d, _, _ := off(mid); math.Abs(d) > band {
				outside = mid
			} else {
				inside = mid
			}
		}
		_, p, _ = off(outside)
		return outside, p, nil
	}
	return 0, local{}, refusedf("it is within the band from the middle of the step on")
}
