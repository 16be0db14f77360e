package linmod

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// balanced draws a complete layout: every combination of the levels of two
// factors in every block, some times over.
func balanced(t *rapid.T) (m Model, y []float64, repeats int) {
	levels := []int{rapid.IntRange(1, 4).Draw(t, "blocks"), rapid.IntRange(2, 4).Draw(t, "A"), rapid.IntRange(2, 4).Draw(t, "B")}
	repeats = rapid.IntRange(1, 3).Draw(t, "repeats")
	fs := make([]Factor, 3)
	for i, name := range []string{"pack", "A", "B"} {
		fs[i] = Factor{Name: name}
		for l := range levels[i] {
			fs[i].Levels = append(fs[i].Levels, fmt.Sprint(l))
		}
	}
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	for p := range levels[0] {
		for a := range levels[1] {
			for b := range levels[2] {
				for range repeats {
					fs[0].Code = append(fs[0].Code, int32(p))
					fs[1].Code = append(fs[1].Code, int32(a))
					fs[2].Code = append(fs[2].Code, int32(b))
					y = append(y, 10*rng.NormFloat64())
				}
			}
		}
	}
	return Model{Blocks: fs[:1], Factors: fs[1:], Order: 2}, y, repeats
}

// between returns the sum of squares between the means of the groups that share
// a code of every factor.
func between(y []float64, fs ...Factor) float64 {
	total := map[string]float64{}
	n := map[string]float64{}
	var mean float64
	for i, v := range y {
		key := ""
		for _, f := range fs {
			key += fmt.Sprint(f.Code[i], " ")
		}
		total[key] += v
		n[key]++
		mean += v / float64(len(y))
	}
	var ss float64
	for key, s := range total {
		ss += n[key] * (s/n[key] - mean) * (s/n[key] - mean)
	}
	return ss
}

// In a balanced layout the terms are orthogonal: each sum of squares is that
// between its own means, less those of the terms it contains, whatever it is
// adjusted for, and all add to the total.
func TestBalanced(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, y, _ := balanced(t)
		r, err := Fit(m, y)
		if err != nil {
			t.Fatal(err)
		}
		a, b := between(y, m.Factors[0]), between(y, m.Factors[1])
		want := []float64{between(y, m.Blocks[0]), a, b, between(y, m.Factors...) - a - b}
		var sum float64
		for i, row := range r.ANOVA() {
			sum += row.SS
			if i < len(want) && !near(row.SS, want[i], r.TSS, 1e-13) {
				t.Fatalf("%s: SS = %v, want %v", row.Name, row.SS, want[i])
			}
		}
		if !near(sum, r.TSS, 0, 1e-13) {
			t.Fatalf("sums of squares add to %v, want %v", sum, r.TSS)
		}
		means, err := r.Means(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		for k, v := range means.All().Value {
			var plain float64
			for i := range y {
				if int(m.Factors[0].Code[i]) == means.Levels[k][0] && int(m.Factors[1].Code[i]) == means.Levels[k][1] {
					plain += y[i] / float64(means.N[k])
				}
			}
			if !near(v, plain, 10, 1e-13) {
				t.Fatalf("mean %v = %v, want %v", means.Levels[k], v, plain)
			}
		}
	})
}

// agree fails unless two fits answer alike.
func agree(t *rapid.T, what string, a, b *Result, tol float64) {
	t.Helper()
	rows, others := a.ANOVA(), b.ANOVA()
	for i := range rows {
		if rows[i].Name != others[i].Name || rows[i].DF != others[i].DF || !near(rows[i].SS, others[i].SS, a.TSS, tol) {
			t.Fatalf("%s: %+v, was %+v", what, others[i], rows[i])
		}
	}
	for f := range a.design.factors {
		m, err := a.Means(f)
		if err != nil {
			t.Fatal(err)
		}
		n, err := b.Means(f)
		if err != nil {
			t.Fatal(err)
		}
		x, y := m.All(), n.All()
		for k := range x.Value {
			if x.Estimable[k] != y.Estimable[k] || m.N[k] != n.N[k] {
				t.Fatalf("%s: mean %d of factor %d: estimable %v, n %d; was %v, %d", what, k, f, y.Estimable[k], n.N[k], x.Estimable[k], m.N[k])
			}
			if x.Estimable[k] && (!near(x.Value[k], y.Value[k], math.Sqrt(a.TSS), tol) || !near(x.Cov.At(k, k), y.Cov.At(k, k), 1, tol)) {
				t.Fatalf("%s: mean %d of factor %d = %v (%v), was %v (%v)", what, k, f, y.Value[k], y.Cov.At(k, k), x.Value[k], x.Cov.At(k, k))
			}
		}
	}
}

func TestInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := drawTrial(t)
		was, err := Fit(tr.model, tr.y)
		if err != nil {
			t.Fatal(err)
		}
		refit := func(what string, m Model, y []float64) {
			r, err := Fit(m, y)
			if err != nil {
				t.Fatal(err)
			}
			agree(t, what, was, r, 1e-11)
		}
		n := len(tr.y)
		order := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)).Perm(n)

		m, y := pick(tr.model, tr.y, order)
		refit("rows in another order", m, y)

		m, y = pick(tr.model, tr.y, append(order, order...))
		y = slices.Concat(y[:n], missing(n))
		refit("rows without a response", m, y)

		if len(tr.model.Covariates) > 0 {
			m, y := pick(tr.model, tr.y, order)
			for i := range m.Covariates[0].Value {
				m.Covariates[0].Value[i] = 1e6 + 3*m.Covariates[0].Value[i]
			}
			refit("covariate in another unit", m, y)
		}

		// The block with most levels is swept out, a factor never is.
		if len(tr.model.Blocks) == 1 && len(tr.model.Covariates) == 0 {
			m, y := pick(tr.model, tr.y, order)
			m.Factors = append(m.Factors[:len(m.Factors):len(m.Factors)], m.Blocks...)
			m.Blocks, m.Order = nil, 1
			r, err := Fit(m, y)
			if err != nil {
				t.Fatal(err)
			}
			rows := r.ANOVA()
			if block, as := was.ANOVA()[0], rows[len(m.Factors)-1]; tr.model.Order == 1 &&
				(block.DF != as.DF || !near(block.SS, as.SS, was.TSS, 1e-11)) {
				t.Fatalf("block as a factor: %+v, was %+v", as, block)
			}
		}
	})
}

// pick returns the rows of a model and a response in the given order, in memory
// of their own.
func pick(m Model, y []float64, order []int) (Model, []float64) {
	factors := func(fs []Factor) []Factor {
		out := make([]Factor, len(fs))
		for k, f := range fs {
			out[k] = Factor{Name: f.Name, Levels: f.Levels}
			for _, i := range order {
				out[k].Code = append(out[k].Code, f.Code[i])
			}
		}
		return out
	}
	p := Model{Blocks: factors(m.Blocks), Factors: factors(m.Factors), Order: m.Order}
	for _, c := range m.Covariates {
		q := Covariate{Name: c.Name}
		if c.By != nil {
			q.By = &factors([]Factor{*c.By})[0]
		}
		for _, i := range order {
			q.Value = append(q.Value, c.Value[i])
		}
		for k := range m.Blocks {
			if c.By == &m.Blocks[k] {
				q.By = &p.Blocks[k]
			}
		}
		for k := range m.Factors {
			if c.By == &m.Factors[k] {
				q.By = &p.Factors[k]
			}
		}
		p.Covariates = append(p.Covariates, q)
	}
	var z []float64
	for _, i := range order {
		z = append(z, y[i])
	}
	return p, z
}
