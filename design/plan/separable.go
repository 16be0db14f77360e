package plan

import (
	"fairrun/design"
	"math"
	"slices"
)

// inseparable returns the names of factors whose main effects the chosen treatments cannot tell
// apart, nil when all can be estimated.
//
// The columns are a one and an indicator of each level but the first of each factor. Gauss–Jordan
// elimination of X'X, whose entries are counts, finds the first column that depends on those
// before it and the factors it depends on. A pivot counts as zero below 1e-9 of its diagonal.
func inseparable(c *design.Plan) []string {
	factorOf := []int{-1}
	first := make([]int, len(c.Factors)) // the column of a factor's second level
	for i, f := range c.Factors {
		first[i] = len(factorOf)
		for range f.Levels[1:] {
			factorOf = append(factorOf, i)
		}
	}
	p := len(factorOf)
	a := make([][]float64, p)
	for i := range a {
		a[i] = make([]float64, p)
	}
	columns := make([]int, 0, len(c.Factors)+1)
	for _, levels := range c.Chosen {
		columns = append(columns[:0], 0)
		for i, f := range c.Factors {
			if j := slices.Index(f.Levels, levels[i]); j > 0 {
				columns = append(columns, first[i]+j-1)
			}
		}
		for _, i := range columns {
			for _, j := range columns {
				a[i][j]++
			}
		}
	}
	diagonal := make([]float64, p)
	for i := range a {
		diagonal[i] = a[i][i]
	}
	for j := range p {
		if a[j][j] <= 1e-9*diagonal[j] {
			mixed := []string{c.Factors[factorOf[j]].Name}
			for i := range j {
				if f := factorOf[i]; f >= 0 && math.Abs(a[i][j]) > 1e-6 && !slices.Contains(mixed, c.Factors[f].Name) {
					mixed = append(mixed, c.Factors[f].Name)
				}
			}
			slices.Reverse(mixed)
			return mixed
		}
		pivot := a[j][j]
		for k := j; k < p; k++ {
			a[j][k] /= pivot
		}
		for i := range p {
			if w := a[i][j]; i != j && w != 0 {
				for k := j; k < p; k++ {
					a[i][k] -= w * a[j][k]
				}
			}
		}
	}
	return nil
}
