package trace

import "math"

const endShare = 0.2 // of the log at either end

// change is the value at the end of the log less that at its start, each read off a local
// quadratic over a fifth of the log.
func (d Definition) change(r Run) Value {
	tr := r.Of.fresh()
	n := len(tr.Time)
	a, b := tr.Time[0], tr.Time[n-1]
	reach := endShare * (b - a)
	var u budget
	read := func(from, to, at float64) (float64, error) {
		t, v := tr.between(from, to)
		p, ok := fitLocal(t, v, nil, at, 2)
		if !ok || len(t) < minSettled {
			return 0, refusedf("%d rows in a fifth of the log, %d are needed", len(t), minSettled)
		}
		r := make([]float64, len(t))
		for i := range t {
			r[i] = v[i] - p.at(t[i])
		}
		f := correlationFactor(r, 3)
		u.add(p.noise2*f*p.lever(at), correlatedDF(p.df(), f))
		// What a cubic says otherwise, beyond half of what noise makes it say, is bias.
		if c, ok := fitLocal(t, v, nil, at, 3); ok {
			apart := c.at(at) - p.at(at)
			u.add(max(0, apart*apart-p.noise2*f*(c.lever(at)-p.lever(at))/2), math.Inf(1))
		}
		if p.noise2 < tr.Quantum*tr.Quantum/4 {
			u.add(tr.Quantum*tr.Quantum/12, math.Inf(1))
		}
		return p.at(at), nil
	}
	first, err := read(a, a+reach, a)
	if err != nil {
		return refused(err)
	}
	last, err := read(b-reach, b, b)
	if err != nil {
		return refused(err)
	}
	return measured(last-first, u.u(), a, b)
}
