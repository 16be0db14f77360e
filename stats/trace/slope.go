package trace

import "math"

// steepest is the slope of the steepest least-squares line over a window of the given
// length, found on one half of the rows and read on the other.
func (s *Step) steepest(length float64) (Value, error) {
	T := s.span()
	a, b := s.T10-2*T-length, s.T90+2*T+length
	t, v := s.tr.between(a, min(b, s.next))
	noise2, df, f := s.noiseNear(nil, 0)
	rows := length / s.tr.Interval
	widen, deal := plateauU, 1.0
	if rough := math.Sqrt(12*noise2*f/rows) / length; f > whiteF && rough > notable*s.size()/T {
		widen, deal = blockedU, f
		if rows < blockedRows*f {
			return Value{}, refusedf("noise is correlated: a window of %.3g ms is needed", 1e3*blockedRows*f*s.tr.Interval)
		}
	}
	if rows < 2*halfRows {
		return Value{}, refusedf("%.2g rows in the window, %d are needed", rows, 2*halfRows)
	}
	h := dealt(t, v, deal)
	var slope, variance, centre float64
	for k := range 2 {
		at, ok := steepestWindow(h.t[k], h.v[k], length)
		if !ok {
			return Value{}, refusedf("the log is shorter than the window")
		}
		x, y := window(h.t[1-k], h.v[1-k], at-length/2, at+length/2)
		if len(x) < halfRows {
			return Value{}, refusedf("too few rows in the window")
		}
		all, values := window(t, v, at-length/2, at+length/2)
		if p, ok := fitLocal(all, values, nil, at, 2); ok && p.df() > 2 && p.noise2 > noise2 {
			noise2, df = p.noise2, p.df()
		}
		line := lineState(x, y)
		slope += line.slope / 2
		variance += f / line.sxx / 4
		centre += at / 2
	}
	var u budget
	u.add(noise2*variance*widen*widen, df)
	if s.Falling {
		slope = -slope
	}
	return measured(slope, u.u(), centre-length/2, centre+length/2), nil
}

// steepestWindow returns the middle of the window with the steepest line.
func steepestWindow(t, v []float64, length float64) (at float64, ok bool) {
	n := len(t)
	if n < 2 || t[n-1]-t[0] < length {
		return 0, false
	}
	t0, v0 := t[0], v[0]
	best := math.Inf(-1)
	var m, st, stt, sv, stv float64
	first := 0
	for last := range n {
		x, y := t[last]-t0, v[last]-v0
		m, st, stt, sv, stv = m+1, st+x, stt+x*x, sv+y, stv+x*y
		for t[last]-t[first] > length {
			x, y := t[first]-t0, v[first]-v0
			m, st, stt, sv, stv = m-1, st-x, stt-x*x, sv-y, stv-x*y
			first++
		}
		if first == 0 || m < halfRows {
			continue
		}
		sxx := stt - st*st/m
		if slope := (stv - st*sv/m) / sxx; sxx > 0 && slope > best {
			best, at, ok = slope, (t[first]+t[last])/2, true
		}
	}
	return at, ok
}
