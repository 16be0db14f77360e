package mixed

import (
	"errors"
	"math"
	"slices"

	"fairrun/stats/linmod"
)

// CellFit judges treatments by how far blocks, as a sample, agree on them: by least squares on the
// unweighted means of the cells of block × treatment.
type CellFit struct {
	// Cells is the fit of blocks and treatments to a mean a cell. Its residual mean square is the
	// yardstick of the treatments: the noise from run to run and how differently blocks answer, both as a cell
	// mean has them.
	Cells *linmod.Result

	// Runs is the fit of cells, covariates and other blocks to the runs. Its residual is the noise from run to run.
	Runs *linmod.Result

	Model linmod.Model // of Cells, a row a cell
	Mean  []float64    // of each cell, adjusted

	PerCell float64         // harmonic mean of the runs behind a cell
	Sample  []linmod.Factor // the blocks that are a sample
	Left    int             // cells with runs whose mean cannot be distinguished from drift, left out
}

// Why [FitCells] has no answer: the residual of the runs, of these blocks, serves then.
var (
	ErrOneEach = errors.New("no cell has more than one run, so the noise from run to run holds how differently blocks answer")
	ErrNoCells = errors.New("the runs leave no degrees of freedom between blocks")
)

// FitCells fits a model to the unweighted means of its cells: the combinations of the blocks named, a sample, and the treatments.
// Covariates and other blocks are fitted to the runs together with the cells, and cell means are adjusted for them.
// A cell without a good run drops out, one that lost some counts as one that did not.
//
// Residual effects (linmod.CarryOver) are fitted to the cells too, each with what its runs take over on average: treatments
// differ in that alike in all blocks, so that an error of these effects, made in the fit to the runs, would move a
// comparison without showing in how far blocks agree.
//
// Balanced, the treatments are then judged by exactly MS(blocks × treatments). With lost runs and with drift the level holds
// as well (docs/honesty.md). Source of the method: the analysis of unweighted means (Yates 1934, Journal of the American
// Statistical Association 29; from memory), here with the residual of cell means as its yardstick.
//
// The errors are [ErrOneEach], [ErrNoCells] and those of [linmod.Fit]. Panics where [linmod.Fit] does.
func FitCells(m linmod.Model, sample []string, y []float64) (*CellFit, error) {
	out := &CellFit{}
	within := linmod.Model{Covariates: m.Covariates}
	for _, b := range m.Blocks {
		if slices.Contains(sample, b.Name) {
			out.Sample = append(out.Sample, b)
		} else {
			within.Blocks = append(within.Blocks, b)
		}
	}
	if len(out.Sample) == 0 {
		return nil, ErrNoCells
	}
	cell := Crossed(slices.Concat(out.Sample, m.Factors)...)
	if !Repeats(cell, func(row int) bool { return !math.IsNaN(y[row]) }) {
		return nil, ErrOneEach
	}
	within.Factors = []linmod.Factor{cell}
	var err error
	if out.Runs, err = linmod.Fit(within, y); err != nil {
		return nil, err
	}
	over := carriedOver(m.Covariates)
	c, err := out.gather(&cell, within, over, y)
	if err != nil {
		return nil, err
	}
	of := func(factors []linmod.Factor) (recoded []linmod.Factor) {
		for _, f := range factors {
			g := linmod.Factor{Name: f.Name, Levels: f.Levels, Code: make([]int32, len(c.row))}
			for i, row := range c.row {
				g.Code[i] = f.Code[row]
			}
			recoded = append(recoded, g)
		}
		return recoded
	}
	out.Model, out.Mean = linmod.Model{Blocks: of(out.Sample), Covariates: c.over, Factors: of(m.Factors), Order: m.Order}, c.mean
	if out.Cells, err = linmod.Fit(out.Model, out.Mean); err != nil {
		return nil, err
	}
	if out.Cells.DF == 0 {
		return nil, ErrNoCells
	}
	return out, nil
}

// cells are those with a mean that can be had.
type cells struct {
	row  []int // one of each
	mean []float64
	over []linmod.Covariate // what the runs of each take over on average
}

// carriedOver lists the covariates that are residual effects.
func carriedOver(covariates []linmod.Covariate) (at []int) {
	for k, c := range covariates {
		if c.Term == linmod.CarryOverTerm {
			at = append(at, k)
		}
	}
	return at
}

// averages are the means of some covariates in each cell, over n good runs of each; of all is that over all runs.
func (f *CellFit) averages(cell *linmod.Factor, covariates []linmod.Covariate, of, n []int) (in [][]float64, all []float64) {
	in, all = make([][]float64, len(of)), make([]float64, len(of))
	for a, k := range of {
		in[a] = make([]float64, len(n))
		for row, at := range cell.Code {
			if at >= 0 && f.Runs.Used[row] {
				v := covariates[k].Value[row]
				in[a][at] += v / float64(n[at])
				all[a] += v / float64(f.Runs.N)
			}
		}
	}
	return in, all
}

// gather takes the means of the cells that have a good run, adjusted for the covariates of the model but for those over,
// which a cell keeps as its own runs have them.
func (f *CellFit) gather(cell *linmod.Factor, within linmod.Model, over []int, y []float64) (c cells, err error) {
	n := make([]int, len(cell.Levels))
	first := make([]int, len(cell.Levels))
	for row, k := range cell.Code {
		if k >= 0 && f.Runs.Used[row] {
			if n[k]++; n[k] == 1 {
				first[k] = row
			}
		}
	}
	mean, known := make([]float64, len(n)), make([]bool, len(n))
	in, all := f.averages(cell, within.Covariates, over, n)
	if len(within.Blocks)+len(within.Covariates) == len(over) {
		for row, k := range cell.Code {
			if k >= 0 && f.Runs.Used[row] {
				mean[k] += (y[row] - y[first[k]]) / float64(n[k])
			}
		}
		for k := range mean {
			mean[k] += y[first[k]]
			known[k] = true
		}
	} else {
		points := make([]linmod.Point, len(n))
		for k := range points {
			points[k] = linmod.Point{Levels: []int{k}, Covariates: make([]float64, len(within.Covariates))}
			for a, at := range over {
				points[k].Covariates[at] = in[a][k] - all[a]
			}
		}
		means, err := f.Runs.At(points)
		if err != nil {
			return c, err
		}
		e := means.All()
		mean, known = e.Value, e.Estimable
	}
	for _, k := range over {
		v := within.Covariates[k]
		c.over = append(c.over, linmod.Covariate{Name: v.Name, Term: v.Term})
	}
	inverse := 0.0
	for k := range n {
		switch {
		case n[k] == 0:
		case !known[k]:
			f.Left++
		default:
			c.row, c.mean = append(c.row, first[k]), append(c.mean, mean[k])
			for a := range c.over {
				c.over[a].Value = append(c.over[a].Value, in[a][k])
			}
			inverse += 1 / float64(n[k])
		}
	}
	f.PerCell = float64(len(c.row)) / inverse
	if len(c.row) == 0 {
		return c, ErrNoCells
	}
	return c, nil
}
