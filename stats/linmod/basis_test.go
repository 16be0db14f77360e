package linmod

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// TestBasis asks of random designs what makes a basis: its columns are
// orthonormal on the used rows, its rows have the leverages as squared lengths,
// and projecting the response on it gives the fitted values.
func TestBasis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(t, "rows")
		levels := func(k int) []string { return make([]string, k) }
		factor := func(name string, k int) Factor {
			f := Factor{Name: name, Levels: levels(k), Code: make([]int32, n)}
			for i := range f.Code {
				f.Code[i] = int32(rapid.IntRange(0, k-1).Draw(t, name))
			}
			return f
		}
		m := Model{Blocks: []Factor{factor("block", 3)}, Factors: []Factor{factor("a", 3)}, Order: 1}
		x := Covariate{Name: "x", Value: make([]float64, n)}
		if rapid.Bool().Draw(t, "own slopes") {
			x.By = &m.Blocks[0]
		}
		y := make([]float64, n)
		for i := range y {
			x.Value[i] = rapid.Float64Range(-3, 3).Draw(t, "x")
			y[i] = rapid.Float64Range(-5, 5).Draw(t, "y")
		}
		y[0] = math.NaN()
		m.Covariates = []Covariate{x}
		r, err := Fit(m, y)
		if err != nil {
			t.Skip(err)
		}
		q := r.Basis()
		var gram mat.Dense
		gram.Mul(q.T(), q)
		h, fitted := r.Leverages(), r.Fitted()
		for i := range r.Rank {
			for j := range r.Rank {
				want := 0.0
				if i == j {
					want = 1
				}
				if got := gram.At(i, j); math.Abs(got-want) > 1e-8 {
					t.Fatalf("columns %d and %d have product %v, want %v", i, j, got, want)
				}
			}
		}
		var projected mat.VecDense
		used := mat.NewVecDense(n, nil)
		for i, v := range y {
			if r.Used[i] {
				used.SetVec(i, v)
			}
		}
		var coordinates mat.VecDense
		coordinates.MulVec(q.T(), used)
		projected.MulVec(q, &coordinates)
		for i := range y {
			if !r.Used[i] {
				continue
			}
			if got := mat.Dot(q.RowView(i), q.RowView(i)); math.Abs(got-h[i]) > 1e-8 {
				t.Fatalf("row %d has squared length %v, leverage %v", i, got, h[i])
			}
			if got := projected.AtVec(i); math.Abs(got-fitted[i]) > 1e-7 {
				t.Fatalf("row %d is projected to %v, fitted %v", i, got, fitted[i])
			}
		}
	})
}
