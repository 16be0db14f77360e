package size

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"fairrun/design/question"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
)

// PlotFit answers how precise comparisons are if whole plots vary so much as is assumed, by
// generalised least squares: the runs of a whole plot have the covariance I + w² J, in units of the
// variance of one run. Blocks, sessions, specimens and drift are taken out.
type PlotFit struct {
	cov   *mat.SymDense // of the coefficients of the levels but the first of each factor
	first []int         // coefficient of the second level of each factor
}

// AssumePlots fits the columns with a spread of w between whole plots. It returns nil where some
// difference cannot be estimated.
func AssumePlots(d verdict.Data, w float64) *PlotFit {
	plots, known := wholePlotOf(d)
	if !known {
		return nil
	}
	x := newSparse(len(plots))
	for _, f := range slices.Concat(d.Recovered, d.Blocks, d.Random) {
		if f.Name != question.WholePlot {
			x.addLevels(f, 0)
		}
	}
	for _, c := range d.Covariates {
		x.addCovariate(c)
	}
	nuisance := x.columns
	b := &PlotFit{}
	for _, f := range d.Treatments {
		b.first = append(b.first, x.columns-nuisance)
		x.addLevels(f, 1)
	}
	c := withoutNuisance(x.information(plots, w), nuisance)
	var chol mat.Cholesky
	if !chol.Factorize(c) || chol.Cond() > 1e12 {
		return nil
	}
	b.cov = mat.NewSymDense(c.SymmetricDim(), nil)
	if chol.InverseTo(b.cov) != nil {
		return nil
	}
	return b
}

// Difference returns the variance of the difference of two levels of factor k, as a multiple of that
// of one run.
func (b *PlotFit) Difference(k, j, i int) float64 {
	at := func(j, i int) float64 {
		if j == 0 || i == 0 {
			return 0
		}
		return b.cov.At(b.first[k]+j-1, b.first[k]+i-1)
	}
	return at(j, j) + at(i, i) - 2*at(j, i)
}

// wholePlotOf returns the whole plot of every run; known is false where there are none.
func wholePlotOf(d verdict.Data) (plots []int32, known bool) {
	for _, f := range d.Random {
		if f.Name == question.WholePlot {
			return f.Code, true
		}
	}
	return nil, false
}

// sparse is a design matrix of few entries a row.
type sparse struct {
	columns int
	at      [][]int
	value   [][]float64
}

func newSparse(rows int) *sparse {
	return &sparse{at: make([][]int, rows), value: make([][]float64, rows)}
}

func (x *sparse) add(row, column int, v float64) {
	x.at[row], x.value[row] = append(x.at[row], column), append(x.value[row], v)
}

// addLevels adds an indicator of each level of a factor from the given one on.
func (x *sparse) addLevels(f linmod.Factor, from int) {
	for i, code := range f.Code {
		if int(code) >= from {
			x.add(i, x.columns+int(code)-from, 1)
		}
	}
	x.columns += len(f.Levels) - from
}

// addCovariate adds a covariate, by the levels of a factor if it has one, about its mean over the
// runs, scaled to them.
func (x *sparse) addCovariate(c linmod.Covariate) {
	var mean, size float64
	for _, v := range c.Value {
		mean += v / float64(len(c.Value))
	}
	for _, v := range c.Value {
		size = max(size, math.Abs(v-mean))
	}
	if size == 0 {
		return
	}
	levels := 1
	for i, v := range c.Value {
		level := 0
		if c.By != nil {
			level, levels = int(c.By.Code[i]), len(c.By.Levels)
		}
		x.add(i, x.columns+level, (v-mean)/size)
	}
	x.columns += levels
}

// information is XᵀV⁻¹X with V = I + w² J in each whole plot: with m runs, V⁻¹ = I − w²/(1 + m w²) J.
func (x *sparse) information(plots []int32, w float64) *mat.SymDense {
	c := mat.NewSymDense(x.columns, nil)
	addOuter := func(at []int, value []float64, f float64) {
		for i, a := range at {
			for j, b := range at {
				if a <= b {
					c.SetSym(a, b, c.At(a, b)+f*value[i]*value[j])
				}
			}
		}
	}
	sums := map[int32]map[int]float64{}
	runs := map[int32]float64{}
	for i, plot := range plots {
		addOuter(x.at[i], x.value[i], 1)
		if plot < 0 {
			continue
		}
		if sums[plot] == nil {
			sums[plot] = map[int]float64{}
		}
		runs[plot]++
		for j, column := range x.at[i] {
			sums[plot][column] += x.value[i][j]
		}
	}
	for _, plot := range slices.Sorted(maps.Keys(sums)) {
		sum := sums[plot]
		at := slices.Sorted(maps.Keys(sum))
		value := make([]float64, len(at))
		for i, column := range at {
			value[i] = sum[column]
		}
		addOuter(at, value, -w*w/(1+runs[plot]*w*w))
	}
	return c
}

// withoutNuisance eliminates the first columns of an information matrix, skipping those that depend
// on others.
func withoutNuisance(c *mat.SymDense, nuisance int) *mat.SymDense {
	n := c.SymmetricDim()
	row := make([][]float64, n)
	for i := range row {
		row[i] = make([]float64, n)
		for j := range row[i] {
			row[i][j] = c.At(i, j)
		}
	}
	for p := range nuisance {
		if row[p][p] <= 1e-9*c.At(p, p) {
			continue
		}
		for i := p + 1; i < n; i++ {
			f := row[p][i] / row[p][p]
			if f == 0 {
				continue
			}
			for j := i; j < n; j++ {
				row[i][j] -= f * row[p][j]
			}
		}
	}
	left := mat.NewSymDense(n-nuisance, nil)
	for i := nuisance; i < n; i++ {
		for j := i; j < n; j++ {
			left.SetSym(i-nuisance, j-nuisance, row[i][j])
		}
	}
	return left
}
