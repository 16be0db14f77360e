package judge

import (
	"math"
	"slices"
)

// take lists the rows.
func (w *LeastSquares) take(good []bool) {
	w.rows, w.start = w.rows[:0], w.start[:0]
	for b := range w.model.Blocks {
		first := len(w.rows)
		for s := b * w.model.Length; s < (b+1)*w.model.Length; s++ {
			if good[s] {
				w.rows = append(w.rows, s)
			}
		}
		if len(w.rows) > first {
			w.start = append(w.start, first)
		}
	}
	w.start = append(w.start, len(w.rows))
}

// add begins a column of zeros.
func (w *LeastSquares) add(factor, level, lo, hi int) []float64 {
	n := len(w.rows)
	if cap(w.memory) < len(w.memory)+n {
		w.memory = make([]float64, 0, 2*cap(w.memory)+16*n) // columns laid so far keep the old one
	}
	at := len(w.memory)
	w.memory = w.memory[:at+n]
	x := w.memory[at : at+n : at+n]
	clear(x)
	w.columns = append(w.columns, column{x: x, lo: lo, hi: hi, factor: factor, level: level})
	return x
}

// lay writes the columns: drift first, then covariates, then treatments.
func (w *LeastSquares) lay(treatment []int) {
	f, n := w.model, len(w.rows)
	for i := range f.Drift {
		w.course(&f.Drift[i])
	}
	if f.Positions {
		first := true
		for at := range f.Length {
			var x []float64
			for i, s := range w.rows {
				if s%f.Length != at {
					continue
				}
				if x == nil {
					if first {
						first = false
						break
					}
					x = w.add(position, at, 0, n)
				}
				x[i] = 1
			}
		}
	}
	for _, value := range f.Noted {
		w.covariate(value)
	}
	w.carried = len(w.columns)
	for k := range f.CarryOver {
		w.carryOver(&f.CarryOver[k], treatment)
	}
	for k := range f.Factors {
		if f.Factors[k].Average {
			w.mean[k].live = f.complete(k, w.mean[0].live, w.mean[k].live[:0])
			continue
		}
		code := f.Factors[k].Code
		live := w.mean[k].live[:0]
		for level := range f.Factors[k].Levels {
			var x []float64
			for i, s := range w.rows {
				if code[treatment[s]] != level {
					continue
				}
				if x == nil {
					if live = append(live, level); len(live) == 1 {
						break
					}
					x = w.add(k, level, 0, n)
				}
				x[i] = 1
			}
		}
		w.mean[k].live = live
	}
}

// complete lists the levels of an average over which all levels of the first factor can take part.
func (m *Model) complete(k int, live, out []int) []int {
	for level := range m.Factors[k].Levels {
		if !slices.ContainsFunc(m.averaged(k, level), func(i int) bool { return !slices.Contains(live, i) }) {
			out = append(out, level)
		}
	}
	return out
}

// averaged lists the levels of the first factor that a level of an average has.
func (m *Model) averaged(k, level int) (of []int) {
	for t, l := range m.Factors[k].Code {
		if l == level {
			of = append(of, m.Factors[0].Code[t])
		}
	}
	return of
}

// course adds a drift about its mean: one column, or one a block.
func (w *LeastSquares) course(d *Drift) {
	n := len(w.rows)
	var mean float64
	for _, s := range w.rows {
		mean += d.Value[s] / float64(n)
	}
	if !d.Own {
		x := w.add(slope, 0, 0, n)
		for i, s := range w.rows {
			x[i] = d.Value[s] - mean
		}
		return
	}
	for b := range len(w.start) - 1 {
		x := w.add(slope, b, w.start[b], w.start[b+1])
		for i := w.start[b]; i < w.start[b+1]; i++ {
			x[i] = d.Value[w.rows[i]] - mean
		}
	}
}

// carryOver adds the residual effects of a factor, as linmod.NewCarryOver has them.
func (w *LeastSquares) carryOver(own *Factor, treatment []int) {
	n, length := len(w.rows), w.model.Length
	w.before = grown(w.before, n)
	w.after = grown(w.after, own.Levels)
	clear(w.after)
	last := -1
	for i, s := range w.rows {
		if w.before[i] = -1; s%length > 0 {
			w.before[i] = own.Code[treatment[s-1]]
			w.after[w.before[i]] = true
			last = max(last, w.before[i])
		}
	}
	for level := range own.Levels {
		if !w.after[level] || level == last {
			continue
		}
		x := w.add(slope, level, 0, n)
		var mean float64
		for i, before := range w.before {
			switch before {
			case level:
				x[i] = 1
			case last:
				x[i] = -1
			}
			mean += x[i] / float64(n)
		}
		for i := range x {
			x[i] -= mean
		}
	}
}

// covariate adds a covariate about its mean, unless it is the same in all rows.
func (w *LeastSquares) covariate(value []float64) {
	n := len(w.rows)
	least, most, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, s := range w.rows {
		v := value[s]
		least, most, sum = min(least, v), max(most, v), sum+v
	}
	if least == most {
		return
	}
	x := w.add(slope, 0, 0, n)
	for i, s := range w.rows {
		x[i] = value[s] - sum/float64(n)
	}
}
