package judge

import (
	"math"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// General fits, by the packages that the verdict fits by, what [LeastSquares] cannot: runs in which
// some columns depend on others, so that some comparisons cannot be estimated, and models with
// random factors.
type General struct {
	Points int // that the law of comparisons within whole plots and across them is averaged over, see [law.NewPivots]

	sample    mixed.Model
	interplay []linmod.Factor
	blocks    []string    // that are a sample
	mean      []Precision // of each factor, then of each average
	average   []Factor    // over the first factor
}

// NewGeneral prepares fits of a model, a row for each slot. A family is compared for each of its
// factors, and for each of the averages over the first of them, by the codes of its levels; blocks are the names of those fixed that are a sample, interplay is that of several specimens and the treatments, random. Good are the slots that
// will have a value.
func NewGeneral(fixed linmod.Model, average []Factor, blocks []string, random, interplay []linmod.Factor, good []bool) *General {
	g := &General{Points: law.FewPivotPoints, sample: mixed.Model{Fixed: fixed, Random: random}, blocks: blocks, average: average}
	for _, f := range fixed.Factors {
		g.mean = append(g.mean, newPrecision(len(f.Levels)))
	}
	for _, f := range average {
		g.mean = append(g.mean, newPrecision(f.Levels))
	}
	for _, f := range interplay {
		if mixed.Repeats(f, func(slot int) bool { return good[slot] }) {
			g.interplay = append(g.interplay, f)
		}
	}
	return g
}

// Precision implements [Fitted].
func (g *General) Precision(k int) *Precision { return &g.mean[k] }

// Solve implements [Fitted]. A slot that is not good has the value NaN. Nothing can be estimated where
// there is no run.
func (g *General) Solve(y []float64, out []Estimates) {
	for k := range g.mean {
		g.mean[k].clear(0, nil)
	}
	if r, _, _ := mixed.FitInterplay(g.sample, g.interplay, y); r != nil {
		for k := range g.sample.Fixed.Factors {
			if m, err := r.Means(k); err == nil {
				g.take(k, m.N, m.Contrasts, out)
				if p, mixes := m.Pivot(); mixes {
					g.mean[k].lean(p, g.Points)
				}
			}
		}
		return
	}
	if len(g.blocks) > 0 && len(g.sample.Random)+len(g.interplay) == 0 {
		if c, err := mixed.FitCells(g.sample.Fixed, g.blocks, y); err == nil && c.Left == 0 {
			g.bySquares(c.Cells, out)
			return
		}
	}
	if fit, err := linmod.Fit(g.sample.Within(), y); err == nil {
		g.bySquares(fit, out)
	}
}

// bySquares takes the estimates from a fit by least squares.
func (g *General) bySquares(fit *linmod.Result, out []Estimates) {
	for k := range g.sample.Fixed.Factors {
		means, err := fit.Means(k)
		if err != nil {
			continue
		}
		g.take(k, means.N, func(c [][]float64) *mixed.Estimates {
			e := means.Contrasts(c)
			return &mixed.Estimates{Value: e.Value, Cov: e.Cov, Estimable: e.Estimable}
		}, out)
	}
	for k := range g.mean {
		g.mean[k].df, out[k].sigma2 = float64(fit.DF), fit.Sigma2
	}
}

// take fills in what the contrasts of the adjusted means of factor k say, and of the averages over them if it is the first.
func (g *General) take(k int, runs []int, contrasts func([][]float64) *mixed.Estimates, out []Estimates) {
	g.mean[k].take(runs, contrasts, &out[k])
	if k > 0 {
		return
	}
	for a, f := range g.average {
		over := make([][]float64, f.Levels) // weights of the means
		of := make([]int, f.Levels)
		for level := range over {
			over[level] = make([]float64, len(runs))
			n := 0.0
			of[level] = 1
			for i, l := range f.Code {
				if l == level {
					over[level][i] = 1
					n++
					of[level] = min(of[level], runs[i])
				}
			}
			for i := range over[level] {
				over[level][i] /= n
			}
		}
		at := len(g.sample.Fixed.Factors) + a
		g.mean[at].take(of, func(rows [][]float64) *mixed.Estimates {
			weights := make([][]float64, len(rows))
			for r, row := range rows {
				weights[r] = make([]float64, len(runs))
				for level, x := range row {
					for i, y := range over[level] {
						weights[r][i] += x * y
					}
				}
			}
			return contrasts(weights)
		}, &out[at])
	}
}

// take fills in what the contrasts of adjusted means say; runs are counted behind each.
func (p *Precision) take(runs []int, contrasts func([][]float64) *mixed.Estimates, out *Estimates) {
	n := len(runs)
	var live []int
	for i, r := range runs {
		if r > 0 {
			live = append(live, i)
		}
	}
	p.clear(math.Inf(1), live)
	out.sigma2 = 1
	for _, i := range live {
		unit := make([]float64, n)
		unit[i] = 1
		e := contrasts([][]float64{unit})
		if out.mean[i] = e.Value[0]; e.Estimable[0] {
			p.meanVar[i] = e.Cov.At(0, 0)
		}
		for _, j := range live {
			if j >= i {
				break
			}
			row, unit := make([]float64, n), make([]float64, n)
			row[i], row[j], unit[j] = 1, -1, 1
			e := contrasts([][]float64{row, unit})
			out.diff[i*n+j], out.diff[j*n+i] = e.Value[0], -e.Value[0]
			if !e.Estimable[0] {
				continue
			}
			p.both(i, j, e.Cov.At(0, 0), e.Cov.At(0, 1))
			if e.DF != nil {
				if p.dfs == nil {
					p.dfs = make([]float64, n*n)
				}
				p.dfs[i*n+j], p.dfs[j*n+i] = e.DF[0], e.DF[0]
			}
		}
	}
}
