package trace

import "math"

// State is a stretch between two edges in which the signal has settled: a straight
// line through its rows.
type State struct {
	From, To float64 // s
	Rows     int
	Noise    float64 // standard deviation about the line
	F        float64 // by which correlation raises the variance of a mean

	centre, mean, slope float64
	sxx                 float64 // Σ(t − centre)²; +Inf for a constant
	ringing             float64 // half of what the later half says otherwise, beyond noise
}

// At returns the value of the line at an instant.
func (s *State) At(t float64) float64 { return s.mean + s.slope*(t-s.centre) }

// df returns the residual degrees of freedom.
func (s *State) df() float64 {
	if math.IsInf(s.sxx, 1) {
		return float64(s.Rows - 1)
	}
	return float64(s.Rows - 2)
}

// lever is the variance of the line at an instant in units of the noise's.
func (s *State) lever(t float64) float64 {
	return 1/float64(s.Rows) + (t-s.centre)*(t-s.centre)/s.sxx
}

// addLevel adds the uncertainty of the line at an instant. Where the noise is
// less than half the quantum q, rounding does not average out.
func (s *State) addLevel(b *budget, t, q float64) {
	b.add(s.Noise*s.Noise*s.F*s.lever(t), correlatedDF(s.df(), s.F))
	if s.Noise < q/2 {
		b.add(q*q/12, math.Inf(1))
	}
}

// constantState takes the rows for one level.
func constantState(t, v []float64) State {
	n := float64(len(v))
	s := State{From: t[0], To: t[len(t)-1], Rows: len(v), sxx: math.Inf(1)}
	for i := range v {
		s.mean += (v[i] - v[0]) / n
		s.centre += (t[i] - t[0]) / n
	}
	s.mean += v[0]
	s.centre += t[0]
	s.residuals(t, v)
	return s
}

// lineState fits a straight line.
func lineState(t, v []float64) State {
	s := constantState(t, v)
	var sxy, sxx float64
	for i := range v {
		sxx += (t[i] - s.centre) * (t[i] - s.centre)
		sxy += (t[i] - s.centre) * (v[i] - s.mean)
	}
	s.sxx, s.slope = sxx, sxy/sxx
	s.residuals(t, v)
	return s
}

// residuals sets noise and F from what the line leaves.
func (s *State) residuals(t, v []float64) {
	r := make([]float64, len(v))
	var sse float64
	for i := range v {
		r[i] = v[i] - s.At(t[i])
		sse += r[i] * r[i]
	}
	s.Noise = math.Sqrt(sse / max(1, s.df()))
	s.F = correlationFactor(r, s.Rows-int(s.df()))
}

// settled returns the state in the rows from an instant on, or from a later of 30
// starts where the squared standard error of a line, SSE/n², is least.
func settled(t, v []float64, from float64) (State, bool) {
	first := 0
	for first < len(t) && t[first] < from {
		first++
	}
	n := len(t) - first
	if n < minSettled {
		return State{Rows: n}, false
	}
	const starts = 30
	last := len(t) - max(minSettled, n/4)
	candidate := func(c int) int { return first + (last-first)*c/(starts-1) }
	// Sums from the end backwards, about the last row.
	t0, v0 := t[len(t)-1], v[len(v)-1]
	var m, st, stt, sv, svv, stv float64
	c, best, least := starts-1, last, math.Inf(1)
	for i := len(t) - 1; i >= first; i-- {
		x, y := t[i]-t0, v[i]-v0
		m++
		st, stt, sv, svv, stv = st+x, stt+x*x, sv+y, svv+y*y, stv+x*y
		for c >= 0 && candidate(c) == i {
			sxx, sxy, syy := stt-st*st/m, stv-st*sv/m, svv-sv*sv/m
			sse := max(0, syy-sxy*sxy/sxx)
			if sse < 1e-13*svv {
				sse = 0 // rounding
			}
			if q := sse / (m * m); q <= least {
				best, least = i, q
			}
			c--
		}
	}
	s := lineState(t[best:], v[best:])
	return s, true
}

// ring sets what the later half of a settled stretch says otherwise of the level at an
// instant, beyond noise, where residuals are correlated: what is left of an oscillation
// bends the line.
func (s *State) ring(t, v []float64, instant float64) {
	half := len(t) / 2
	if s.F <= 2 || len(t)-half < minSettled {
		return
	}
	later := lineState(t[half:], v[half:])
	apart := s.At(instant) - later.At(instant)
	noise := s.Noise * s.Noise * s.F * (later.lever(instant) - s.lever(instant))
	s.ringing = math.Sqrt(max(0, apart*apart-noise)) / 2
}
