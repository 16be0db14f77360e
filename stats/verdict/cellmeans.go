package verdict

import (
	"errors"
	"math"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// cellMeans is a model whose blocks are a sample: treatments are judged by how far they agree, see [mixed.FitCells].
type cellMeans struct {
	*mixed.CellFit
	treatments []linmod.Factor // by run
	cells      leastSquares    // fit to cell means
	runs       leastSquares    // to runs, for the noise between them
}

// byCells takes the comparisons from cell means where blocks are a sample and hold more than one run of a treatment.
func (f *fit) byCells(d *Data, y []float64) (said remarks) {
	if len(d.Sample) == 0 {
		return nil
	}
	c, err := mixed.FitCells(f.model, d.Sample, y)
	switch {
	case err == nil && c.Left == 0:
		f.cells = c
		f.variance = c.Cells.Sigma2 * c.PerCell
		f.estimator = cellMeans{c, f.model.Factors, leastSquares{c.Cells, c.Cells.Sigma2}, leastSquares{c.Runs, varianceOf(c.Runs)}}
	case errors.Is(err, mixed.ErrOneEach):
	default:
		several := d.several(d.Sample[0])
		why := "the drift of this plan cannot be distinguished from how differently they answer"
		if errors.Is(err, mixed.ErrNoCells) {
			why = "one alone cannot show how differently they answer: it takes two or more that hold every treatment"
		}
		said.warn(scopeCheck, "the comparisons hold for these %s, not for others like them: %s", several, why)
	}
	return said
}

// scopeCheck is the name of remarks on what the comparisons hold for.
const scopeCheck = "scope"

// varianceOf is the residual mean square, 0 where there is none to speak of.
func varianceOf(r *linmod.Result) float64 {
	if r.DF == 0 {
		return 0
	}
	return r.Sigma2
}

func (cellMeans) method() (method, dfMethod string) { return "least squares on cell means", "residual" }

func (f cellMeans) means(factors ...int) (*adjusted, error) {
	a, err := f.cells.means(factors...)
	if err != nil {
		return nil, err
	}
	a.n = f.behind(factors, len(a.n))
	a.apart = f.runs.sigma2 > 0
	return a, nil
}

// at moves residual effects only: they are what the model of cells has of covariates.
func (f cellMeans) at(points []linmod.Point) (func([][]float64) *mixed.Estimates, error) {
	own := make([]linmod.Point, len(points))
	for k, p := range points {
		if own[k].Levels = p.Levels; p.Covariates != nil {
			own[k].Covariates = p.Covariates[len(p.Covariates)-len(f.Model.Covariates):]
		}
	}
	return f.cells.at(own)
}

// behind counts the runs behind each mean.
func (f cellMeans) behind(factors []int, means int) []int {
	n := make([]int, means)
	for row, used := range f.Runs.Used {
		if !used {
			continue
		}
		k := 0
		for _, i := range factors {
			t := f.treatments[i]
			k = k*len(t.Levels) + int(t.Code[row])
		}
		n[k]++
	}
	return n
}

// anova has the rows of blocks and treatments from cell means, in terms of runs (their sums of squares times the runs behind a
// cell), the row of how differently blocks answer, which they are tested against, and then what was fitted to runs.
func (f cellMeans) anova() []ANOVARow {
	var rows []ANOVARow
	for _, r := range f.cells.ANOVA() {
		row := f.ofCells(r)
		if r.Kind == linmod.ResidualTerm {
			row = f.between(r)
		}
		rows = append(rows, row)
	}
	for _, r := range f.runs.ANOVA() {
		if r.Kind != linmod.TreatmentTerm && r.Name != linmod.CarryOverTerm {
			rows = append(rows, f.runs.row(r))
		}
	}
	return rows
}

// ofCells is a row of cell means in terms of runs.
func (f cellMeans) ofCells(r linmod.Row) ANOVARow {
	row := f.cells.row(r)
	row.SS *= Number(f.PerCell)
	row.MS *= Number(f.PerCell)
	return row
}

// between is the row of how differently blocks answer, tested against the noise from run to run.
func (f cellMeans) between(r linmod.Row) ANOVARow {
	r.SS *= f.PerCell
	r.Kind = linmod.TreatmentTerm
	r.Factors = nil
	for _, b := range f.Sample {
		r.Factors = append(r.Factors, b.Name)
	}
	for _, t := range f.treatments {
		r.Factors = append(r.Factors, t.Name)
	}
	r.Name = linmod.TermName(r.Factors...)
	return f.runs.row(r)
}

func (f cellMeans) joint() ANOVARow { return f.ofCells(f.cells.Joint()) }

// sd is that from run to run, as noise is.
func (f cellMeans) sd() (sd, df float64) {
	if f.runs.sigma2 > 0 {
		return f.runs.sd()
	}
	sd, df = f.cells.sd()
	return math.Sqrt(f.PerCell) * sd, df
}

// noise is that from run to run within cells; where runs agree to the last digit, that of cell means in terms of runs.
func (f cellMeans) noise(alpha float64) Noise {
	if f.runs.sigma2 > 0 {
		return f.runs.noise(alpha)
	}
	return leastSquares{f.cells.Result, f.cells.sigma2 * f.PerCell}.noise(alpha)
}
