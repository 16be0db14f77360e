//go:build slow

package mixed

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
)

// rankOf returns the rank of the fixed part and the indicators of all random
// factors together.
func rankOf(r *Result) int {
	b := &basis{q: slices.Clone(r.basis.q)}
	for i := range r.random {
		for l := range r.random[i].count {
			v := make([]float64, r.N)
			for row, c := range r.random[i].code {
				if int(c) == l {
					v[row] = 1
				}
			}
			size := floats.Norm(v, 2)
			b.takeOut(v)
			if n := floats.Norm(v, 2); n > 1e-9*size && len(b.q) < r.N {
				floats.Scale(1/n, v)
				b.q = append(b.q, v)
			}
		}
	}
	return b.rank()
}

// Any layout, of one to three nested or crossed factors whose levels differ by
// nothing or by a thousand times what runs do, has its optimum found, unless
// fixed and random effects together are as many as the runs: then there may be
// none, and that is what is said.
func TestAnyLayout(t *testing.T) {
	fitted, noNoise := 0, 0
	for seed := range uint64(6000) {
		rng := rand.New(rand.NewPCG(seed, 9))
		rows := 8 + rng.IntN(60)
		var random []spread
		for range 1 + rng.IntN(3) {
			l := 2 + rng.IntN(8)
			sd := []float64{0, 0.1, 0.5, 1, 3, 30, 1000}[rng.IntN(7)]
			if rng.IntN(2) == 0 {
				random = append(random, spread{l, sd, func(int) int { return rng.IntN(l) }})
			} else {
				random = append(random, spread{l, sd, func(i int) int { return i * l / rows }})
			}
		}
		m, y := layout(rows, 2+rng.IntN(3), random...)
		for i := range y {
			y[i] += rng.NormFloat64()
		}
		r, err := Fit(m, y)
		switch {
		case errors.Is(err, ErrNotConverged):
			t.Errorf("seed %d, %d rows: %v", seed, rows, err)
		case errors.Is(err, ErrNoNoise):
			noNoise++
			if r := laidOut(t, m, y); rankOf(r) < r.N {
				t.Errorf("seed %d, %d rows: %v, on rank %d", seed, rows, err, rankOf(r))
			}
		}
		if err != nil {
			continue
		}
		fitted++
		if r.Gradient > 1e-7 {
			t.Errorf("seed %d: gradient %v", seed, r.Gradient)
		}
		for _, row := range r.ANOVA() {
			if !(row.F >= 0 && row.P >= 0 && row.P <= 1 && row.DenDF > 0) {
				t.Errorf("seed %d: %+v", seed, row)
			}
		}
		if seed%20 == 0 {
			limits, err := r.Intervals(0.95)
			if err != nil && rankOf(r) < r.N {
				t.Errorf("seed %d: intervals: %v", seed, err)
			}
			for i, l := range limits {
				if sd := r.Components[i].SD; !(l.Low <= sd && sd <= l.High) {
					t.Errorf("seed %d: %v outside %+v", seed, sd, l)
				}
			}
		}
	}
	t.Logf("%d layouts fitted, %d without noise", fitted, noNoise)
	if fitted < 4000 {
		t.Errorf("only %d layouts fitted", fitted)
	}
}

// laidOut returns a result that has got as far as its basis.
func laidOut(t *testing.T, m Model, y []float64) *Result {
	t.Helper()
	columns, err := m.Fixed.Columns(y)
	if err != nil {
		t.Fatal(err)
	}
	r := &Result{N: len(columns.Rows), columns: columns, basis: orthogonalise(columns)}
	for i := range m.Random {
		r.random = append(r.random, newGrouping(&m.Random[i], columns.Rows))
	}
	return r
}
