package trace

import (
	"math"
	"slices"
)

const (
	readShare  = 0.12 // of the range on either side of the value
	readNoises = 5    // h over the noise of x, below which windows are in time
)

// reading is the value of one signal where another has a value: the mean of what the
// upward and the downward branch of a sweep say.
func (d Definition) reading(r Run) Value {
	p := paired(r.Of, r.Over)
	if len(p.t) < 2*crossRows {
		return refused(refusedf("%d rows with both signals, %d are needed", len(p.t), 2*crossRows))
	}
	if stairs, ok := p.dwells(); ok {
		return d.readStairs(stairs)
	}
	up, down, low, high := p.branches()
	h := readShare * (high - low)
	var values []Value
	var reason error
	for _, branch := range []pairs{up, down} {
		v, err := branch.read(d.At, h)
		if err != nil {
			if reason == nil {
				reason = err
			}
			continue
		}
		values = append(values, v)
	}
	if len(values) == 0 {
		return refused(reason)
	}
	return ofBranches(values, len(values) == 1)
}

// ofBranches averages what the branches say.
func ofBranches(values []Value, single bool) Value {
	v := values[0]
	v.Steps = 0
	if single {
		v.Notes = append(v.Notes, "one branch only: hysteresis is not averaged out")
		return v
	}
	v.Hysteresis = values[1].Value - values[0].Value
	v.Value = (values[0].Value + values[1].Value) / 2
	v.Uncertainty = math.Hypot(values[0].Uncertainty, values[1].Uncertainty) / 2
	v.Edges = append(slices.Clone(values[0].Edges), values[1].Edges...)
	return v
}

// read reads one branch at a value of x.
func (p pairs) read(at, h float64) (Value, error) {
	var t, x, y []float64
	below, above := 0, 0
	for i := range p.x {
		if math.Abs(p.x[i]-at) <= h {
			t, x, y = append(t, p.t[i]), append(x, p.x[i]), append(y, p.y[i])
			if p.x[i] < at {
				below++
			} else {
				above++
			}
		}
	}
	if below < halfRows || above < halfRows {
		return Value{}, refusedf("the sweep has %d rows below %.4g and %d above it, %d of each are needed", below, at, above, halfRows)
	}
	inTime, ok := fitLocal(t, x, nil, (t[0]+t[len(t)-1])/2, 3)
	if !ok {
		return Value{}, refusedf("the sweep does not pass %.4g", at)
	}
	if noise := math.Sqrt(inTime.noise2); noise*readNoises > h {
		return p.readInTime(at, h)
	}
	q, ok := fitLocal(x, y, nil, at, 2)
	if !ok {
		return Value{}, refusedf("the rows near %.4g do not make a curve", at)
	}
	residuals := make([]float64, len(x))
	for i := range x {
		residuals[i] = y[i] - q.at(x[i])
	}
	f := correlationFactor(residuals, 3)
	var u budget
	u.add(q.noise2*f*q.lever(at), correlatedDF(q.df(), f))
	zero := q.slope(at) * p.zeroX
	u.add(zero*zero+p.zeroY*p.zeroY, math.Inf(1))
	if q.noise2 < p.quantumY*p.quantumY/4 {
		u.add(p.quantumY*p.quantumY/12, math.Inf(1))
	}
	return measured(q.at(at)-q.bend(at)*inTime.noise2/2, u.u(), t[0], t[len(t)-1]), nil
}

// readInTime reads one branch where x is too noisy to choose rows by: both signals as
// quadratics of time around the instant at which x passes the value.
func (p pairs) readInTime(at, h float64) (Value, error) {
	x := slices.Clone(p.x)
	falling := average(x[:len(x)/4+1]) > average(x[3*len(x)/4:])
	if falling {
		for i := range x {
			x[i] = -x[i]
		}
		at = -at
	}
	course := rise{p.t, isotonic(x)}
	instant, ok := course.at(at)
	a, okA := course.at(at - h)
	b, okB := course.at(at + h)
	if !ok || !okA || !okB {
		return Value{}, refusedf("the sweep does not pass %.4g with %.2g on either side", at, h)
	}
	i, _ := slices.BinarySearch(p.t, a)
	j, _ := slices.BinarySearch(p.t, b)
	px, ok := fitLocal(p.t[i:j], x[i:j], nil, instant, 2)
	if !ok || j-i < crossRows {
		return Value{}, refusedf("%d rows near %.4g, %d are needed", j-i, at, crossRows)
	}
	py, _ := fitLocal(p.t[i:j], p.y[i:j], nil, instant, 2)
	when, ok := px.crosses(at, b-a)
	if !ok {
		return Value{}, refusedf("the sweep does not pass %.4g", at)
	}
	rx, ry := make([]float64, j-i), make([]float64, j-i)
	for k := range rx {
		rx[k], ry[k] = x[i+k]-px.at(p.t[i+k]), p.y[i+k]-py.at(p.t[i+k])
	}
	pull := py.slope(when) / px.slope(when)
	fx, fy := correlationFactor(rx, 3), correlationFactor(ry, 3)
	var u budget
	u.add(py.noise2*fy*py.lever(when), correlatedDF(py.df(), fy))
	u.add(pull*pull*px.noise2*fx*px.lever(when), correlatedDF(px.df(), fx))
	u.add(pull*pull*p.zeroX*p.zeroX+p.zeroY*p.zeroY, math.Inf(1))
	return measured(py.at(when), u.u(), a, b), nil
}
