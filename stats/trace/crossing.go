package trace

import (
	"math"
	"slices"

	"fairrun/stats/root"
)

const (
	crossShare  = 0.09 // of the step on either side of a reference level: the rows that are fitted
	crossRows   = 6    // rows that a local quadratic needs
	widenedRows = 8    // rows looked for where fewer lie there
	widenAbove  = 0.3  // share of the step above which a window may be widened
	leastCurve  = 0.05 // of the interval: what interpolation is at least uncertain by
	cornerCurve = 0.1  // likewise with few rows on the edge: its start may lie in the interval
)

// crossing is the instant at which a signal passes a reference level.
type crossing struct {
	t     float64
	slope float64
	noise budget // of the instant, without what the levels are uncertain by
}

// cross finds where the step passes a share of its height: below the middle the last
// upward crossing before it, above the first after it.
func (s *Step) cross(share float64) (crossing, error) {
	near, ok := s.rise.at(s.level(share))
	if !ok {
		return crossing{}, refusedf("the signal does not pass %.3g %% of the step", 100*share)
	}
	reach := s.span() / 4
	// The same on both sides, so that a third derivative cancels.
	if t, ok := s.rise.at(s.level(share - crossShare)); ok {
		reach = min(reach, near-t)
	}
	if t, ok := s.rise.at(s.level(share + crossShare)); ok {
		reach = min(reach, t-near)
	}
	t, v := s.tr.between(near-reach, near+reach)
	if len(t) < crossRows && share > widenAbove {
		t, v = s.widened(near)
	}
	if len(t) >= crossRows {
		if c, ok := s.fitted(t, v, near, share); ok {
			return c, nil
		}
	}
	return s.interpolated(share)
}

// widened returns the rows around an instant, up to half of T away, of which there are eight.
func (s *Step) widened(near float64) (t, v []float64) {
	for k := 2; k <= 8; k++ {
		reach := s.span() * float64(k) / 16
		if t, v = s.tr.between(near-reach, near+reach); len(t) >= widenedRows {
			break
		}
	}
	return t, v
}

// fitted solves a local quadratic for the level.
func (s *Step) fitted(t, v []float64, near, share float64) (crossing, bool) {
	p, ok := s.fitClean(t, v, near)
	if !ok {
		return crossing{}, false
	}
	at, ok := p.crosses(s.level(share), s.span()/2)
	if !ok {
		return crossing{}, false
	}
	c := crossing{t: at, slope: p.slope(at)}
	noise2, df, f := s.noiseNear(&p, c.slope)
	c.noise.add(noise2*f*p.lever(at)/(c.slope*c.slope), df)
	bias := s.bias((t[len(t)-1] - t[0]) / 2)
	c.noise.add(bias*bias, math.Inf(1))
	s.addRow(&c.noise)
	return c, true
}

// fitClean fits a local quadratic without the one row that lies far from the others: a
// dropout too small to be seen in the whole log.
func (s *Step) fitClean(t, v []float64, near float64) (local, bool) {
	p, ok := fitLocal(t, v, nil, near, 2)
	if !ok || len(t) < widenedRows || math.Sqrt(p.noise2) < 2*s.noise() {
		return p, ok
	}
	r := make([]float64, len(t))
	for i := range t {
		r[i] = math.Abs(v[i] - p.at(t[i]))
	}
	far := slices.Index(r, slices.Max(r))
	without, ok := fitLocal(slices.Delete(slices.Clone(t), far, far+1), slices.Delete(slices.Clone(v), far, far+1), nil, near, 2)
	if ok && math.Abs(v[far]-without.at(t[far])) > dropoutNoise*math.Sqrt(max(without.noise2, s.noise()*s.noise())) {
		return without, true
	}
	return p, true
}

// bias is what a quadratic over ± h makes of the instant at which a first-order lag of
// the same T passes a level: τ(h/τ)⁴/280, τ = T/ln 9.
func (s *Step) bias(h float64) float64 {
	tau := s.span() / math.Log(9)
	x := h / tau
	return tau * x * x * x * x / 280
}

// noiseNear returns the larger of a local residual variance and what the states' noise and
// the jitter of stamps make at a slope, with its degrees of freedom, and the factor for
// correlation.
func (s *Step) noiseNear(p *local, slope float64) (variance, df, f float64) {
	state := &s.after
	if s.before.Noise > s.after.Noise && s.before.Rows >= minSettled {
		state = &s.before
	}
	f = max(s.after.F, s.before.F)
	variance, df = state.Noise*state.Noise, correlatedDF(state.df(), f)
	if shaken := s.j2 * slope * slope; shaken > 0 {
		var b budget
		b.add(variance, df)
		b.add(shaken, s.jitterDF)
		variance, df = b.variance, b.variance*b.variance/b.welch
	}
	if p != nil && p.df() > 0 && p.noise2 > variance {
		variance, df = p.noise2, p.df()
	}
	return variance, df, f
}

// addRow adds what the unknown phase of held rows makes an instant uncertain by.
func (s *Step) addRow(b *budget) {
	if s.tr.held > 0 {
		b.add(s.tr.held*s.tr.held/12, math.Inf(1))
	}
}

// interpolated reads the crossing off a shape-preserving cubic through the rows.
func (s *Step) interpolated(share float64) (crossing, error) {
	level := s.level(share)
	t, v := s.tr.Time, s.tr.Value
	middle := s.tr.after(s.T50) // first row after
	k := -1                     // the row before the crossing
	if share < 0.5 {
		for i := min(middle, len(v)-1); i > 0 && t[i] > s.rise.t[0]; i-- {
			if v[i-1] < level && v[i] >= level {
				k = i - 1
				break
			}
		}
	} else {
		for i := max(middle, 1); i < len(v) && t[i] <= s.rise.end(); i++ {
			if v[i-1] < level && v[i] >= level {
				k = i - 1
				break
			}
		}
	}
	if k < 1 || k+2 >= len(v) {
		return crossing{}, refusedf("the signal does not pass %.3g %% of the step", 100*share)
	}
	at := cubicCrossing(t[k-1:k+3], v[k-1:k+3], level)
	width := t[k+1] - t[k]
	e := (level - v[k]) / (v[k+1] - v[k])
	line := t[k] + e*width
	c := crossing{t: at, slope: (v[k+1] - v[k]) / width}
	noise2, df, f := s.noiseNear(nil, 0)
	weights := e*e + (1-e)*(1-e)
	if f > 1.5 {
		weights = 1 // the noise of neighbours is alike
	}
	c.noise.add(noise2*weights/(c.slope*c.slope), df)
	c.noise.add(s.j2*weights, s.jitterDF)
	least := leastCurve
	if s.span() < fewOnEdge*s.tr.Interval {
		least = cornerCurve
	}
	curve := max(math.Abs(at-line), least*width)
	c.noise.add(curve*curve/3, math.Inf(1))
	s.addRow(&c.noise)
	return c, nil
}

// cubicCrossing returns where the monotone cubic (Fritsch & Butland 1984) through
// four rows passes a level between the middle two.
func cubicCrossing(t, v []float64, level float64) float64 {
	h := [3]float64{t[1] - t[0], t[2] - t[1], t[3] - t[2]}
	d := [3]float64{(v[1] - v[0]) / h[0], (v[2] - v[1]) / h[1], (v[3] - v[2]) / h[2]}
	inner := func(i int) float64 {
		if d[i]*d[i+1] <= 0 {
			return 0
		}
		w1, w2 := 2*h[i+1]+h[i], h[i+1]+2*h[i]
		return (w1 + w2) / (w1/d[i] + w2/d[i+1])
	}
	m1, m2 := inner(0), inner(1)
	value := func(x float64) float64 { // x of 0 to 1 between the middle rows
		return (1+2*x)*(1-x)*(1-x)*v[1] + x*(1-x)*(1-x)*h[1]*m1 + x*x*(3-2*x)*v[2] + x*x*(x-1)*h[1]*m2
	}
	return t[1] + h[1]*root.Between(0, 1, 0, func(x float64) float64 { return value(x) - level })
}
