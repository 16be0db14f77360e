package linmod

import (
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
)

// leastSquares returns the triangle of the sums of columns in sets, with the
// response about its mean rotated.
func leastSquares(c *Columns, y []float64, sets [][]int) *triangle {
	n := len(c.Rows)
	x := newMatrix(n, len(c.X))
	for j, col := range c.X {
		copy(x.col(j), col)
	}
	z := make([]float64, n)
	for i, row := range c.Rows {
		z[i] = y[row]
	}
	floats.AddConst(-floats.Sum(z)/float64(n), z)
	merged, scale := merge(x, c.Scale, sets)
	return reduce(merged, z, scale)
}

// Ordinary least squares on the design matrix in full, by term and by mean, is
// what R found: see reference.
func TestColumns(t *testing.T) {
	const tol = 1e-10
	for _, want := range readReference(t) {
		t.Run(want.Name, func(t *testing.T) {
			m, y := want.model()
			c, err := m.Columns(y)
			if err != nil {
				t.Fatal(err)
			}
			used := make([]int, len(c.Rows))
			for i, row := range c.Rows {
				used[i] = int(row)
			}
			slices.Sort(used)
			if !slices.Equal(used, want.Used) {
				t.Errorf("rows %v, want %v", used, want.Used)
			}
			var all [][]int
			for j := range c.X {
				all = append(all, []int{j})
			}
			fit := leastSquares(c, y, all)
			rank := fit.rank()
			if rank != want.Rank {
				t.Errorf("rank %d, want %d", rank, want.Rank)
			}
			if got := sumSquares(fit.z[rank:]); !near(got, want.RSS, want.TSS, tol) {
				t.Errorf("RSS = %v, want %v", got, want.RSS)
			}
			adds := func(name string, before, own [][]int, df int, ss float64) {
				tri := leastSquares(c, y, slices.Concat(before, own))
				gotDF, gotSS := 0, 0.0
				for i, j := range tri.independent {
					if j >= len(before) {
						gotDF++
						gotSS += tri.z[i] * tri.z[i]
					}
				}
				if gotDF != df || !near(gotSS, ss, want.TSS, tol) {
					t.Errorf("%s: df %d, ss %v, want %d, %v", name, gotDF, gotSS, df, ss)
				}
			}
			for i, row := range want.Anova {
				before, own := c.Type2(i)
				if c.Terms[i].Name != strings.ReplaceAll(row.Name, ":", " × ") {
					t.Errorf("term %d is %q, want %q", i, c.Terms[i].Name, row.Name)
				}
				adds(row.Name, before, own, row.DF, row.SS)
			}
			before, own := c.Treatments()
			adds("treatments", before, own, want.Joint.DF, want.Joint.SS)

			b := make([]float64, len(c.X))
			z := slices.Clone(fit.z[:rank])
			fit.backward(z)
			for i, j := range fit.independent {
				b[j] = z[i]
			}
			var sum float64
			for _, row := range c.Rows {
				sum += y[row]
			}
			b[0] += sum / float64(len(c.Rows))
			for _, w := range want.Means {
				means, err := c.Means(w.Factors...)
				if err != nil {
					t.Fatal(err)
				}
				for k, v := range w.Value {
					if v == nil {
						continue
					}
					if means.Weight[k] == nil {
						t.Errorf("mean %v: no weights", means.Levels[k])
					} else if got := floats.Dot(means.Weight[k], b); !near(got, *v, 1, tol) {
						t.Errorf("mean %v = %v, want %v", means.Levels[k], got, *v)
					}
				}
			}
		})
	}
}
