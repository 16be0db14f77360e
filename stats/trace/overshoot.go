package trace

import (
	"math"
	"slices"
)

// overshoot is the peak beyond the settled line, as a share of the step.
func (s *Step) overshoot() (Value, error) {
	t, v := s.tr.between(s.T50, min(s.T90+settleAfter*s.span(), s.after.To))
	if len(t) < 2*humpAverages {
		return Value{}, refusedf("%d rows after the edge, %d are needed", len(t), 2*humpAverages)
	}
	d := make([]float64, len(v))
	for i := range v {
		d[i] = v[i] - s.after.At(t[i])
	}
	noise2, df, f := s.noiseNear(nil, 0)
	rough := math.Sqrt(noise2 * f / humpAverages)
	a, peak, b := hump(d)
	var level budget
	s.after.addLevel(&level, t[peak], s.tr.Quantum)
	if fiveMean(d, peak) < humpNoises*rough || fiveMean(d, peak) <= 0 {
		level.add(rough*rough, df)
		return measured(0, level.u()/s.size(), t[peak]), nil
	}
	reach := humpShare * (t[b] - t[a])
	centre := (t[a] + t[b]) / 2
	h := dealt(t, d, 1)
	var sum, lever, instant float64
	for k := range 2 {
		at, ok := vertex(h.t[k], h.v[k], t[peak], centre, reach)
		if !ok {
			return Value{}, refusedf("too few rows on the overshoot: sample faster")
		}
		x, y := window(h.t[1-k], h.v[1-k], at-reach, at+reach)
		p, ok := fitLocal(x, y, nil, at, 2)
		if !ok || len(x) <= halfRows {
			return Value{}, refusedf("too few rows on the overshoot: sample faster")
		}
		if p.df() > 2 && p.noise2 > noise2 {
			noise2, df = p.noise2, p.df()
		}
		sum += p.at(at) / 2
		instant += at / 2
		lever += p.lever(at) / 4
	}
	share := sum / s.size()
	u := budget{}
	u.add(noise2*f*lever, df)
	u = u.scaled(1 / s.size())
	s.addLevels(&u, share/s.size(), -(1+share)/s.size())
	return measured(share, u.u(), instant), nil
}

// fiveMean is the mean of up to five values around one.
func fiveMean(d []float64, i int) float64 {
	a, b := max(0, i-humpAverages/2), min(len(d), i+humpAverages/2+1)
	var sum float64
	for _, x := range d[a:b] {
		sum += x
	}
	return sum / float64(b-a)
}

// hump returns the row of the highest mean of five, and the rows on either side at which
// that mean passes zero.
func hump(d []float64) (a, peak, b int) {
	best := math.Inf(-1)
	for i := range d {
		if m := fiveMean(d, i); m > best {
			peak, best = i, m
		}
	}
	for a = peak; a > 0 && fiveMean(d, a) > 0; a-- {
	}
	for b = peak; b < len(d)-1 && fiveMean(d, b) > 0; b++ {
	}
	return a, peak, b
}

// window returns the rows from a to b.
func window(t, v []float64, a, b float64) (x, y []float64) {
	i, _ := slices.BinarySearch(t, a)
	j, _ := slices.BinarySearch(t, b)
	return t[i:max(i, j)], v[i:max(i, j)]
}

// vertex finds the top of the local quadratic, moving the window after it.
func vertex(t, v []float64, start, centre, reach float64) (float64, bool) {
	at := start
	for range 5 {
		x, y := window(t, v, at-reach, at+reach)
		p, ok := fitLocal(x, y, nil, at, 2)
		if !ok || len(x) <= halfRows {
			return at, false
		}
		move := math.Copysign(reach, p.slope(at))
		if bend := p.bend(at); bend < 0 {
			move = max(-reach, min(reach, -p.slope(at)/bend))
		}
		next := max(centre-2*reach, min(centre+2*reach, at+move))
		if math.Abs(next-at) < 1e-9*reach {
			break
		}
		at = next
	}
	return at, true
}
