package rehearse

import (
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/sheet"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/verdict"
)

// general fits, by the packages that the verdict fits by, what fit cannot: runs in which some columns depend
// on others, so that some comparisons cannot be estimated, and models with random factors.
type general struct {
	fixed     linmod.Model
	random    []linmod.Factor
	interplay []linmod.Factor // of several units and the treatments, random
	within    linmod.Model    // with the random factors as blocks, for when their variance cannot be told
	mean      []precision
}

// columns are those of the verdict's model of the runs in hand, a row for each slot: the very ones that it makes of
// the sheet.
func (w *worker) columns(tr *trial) verdict.Data {
	drawn := *w.drawn
	drawn.Blocks = w.blocks
	if w.plot == nil {
		drawn.Plan.WholePlots = nil // random order keeps none together
		if drawn.Fold != nil {
			fold := *drawn.Fold
			fold.Whole.WholePlots = nil
			drawn.Fold = &fold
		}
	}
	s := sheet.Blank(tr.plan, &drawn)
	position := make([]int, len(s.Runs))
	for i := range s.Runs {
		position[i] = s.Runs[i].Position
	}
	d := analysis.Columns(s, position)
	for _, k := range tr.covariates {
		d.Noted = append(d.Noted, linmod.Covariate{Name: w.plan.Checks[k].Name, Value: w.noted[k]})
	}
	return d
}

// general is the verdict's model of the runs in hand. Each treatment counts as a level of its own where the plan has
// interactions.
func (w *worker) general(tr *trial) *general {
	d := w.columns(tr)
	g := &general{random: slices.Concat(d.Recovered, d.Random)}
	g.fixed = linmod.Model{Blocks: d.Blocks, Covariates: slices.Concat(d.Covariates, d.Noted), Order: 1}
	for _, own := range w.factors {
		c := linmod.Factor{Name: own.name, Levels: own.labels, Code: make([]int32, w.slots())}
		for s, t := range w.treatment {
			c.Code[s] = int32(own.code[t])
		}
		g.fixed.Factors = append(g.fixed.Factors, c)
		g.mean = append(g.mean, newPrecision(len(own.labels)))
	}
	for _, f := range d.Interplay {
		if w.repeats(f) {
			g.interplay = append(g.interplay, f)
		}
	}
	g.within = g.fixed
	g.within.Blocks = slices.Concat(g.fixed.Blocks, g.random)
	return g
}

// repeats reports whether some level has more than one good run. The noise from run to run holds the interplay that
// has not.
func (w *worker) repeats(f linmod.Factor) bool {
	runs := make([]int, len(f.Levels))
	for s, good := range w.good {
		if good && f.Code[s] >= 0 {
			runs[f.Code[s]]++
		}
	}
	return slices.Max(runs) > 1
}

// beyond reports whether a fit by least squares, with blocks and the plan's drift, is not the verdict's model.
func beyond(d verdict.Data, drift design.Drift) bool {
	blocks := 1
	if drift.Model == design.DriftPosition {
		blocks++
	}
	return len(d.Recovered)+len(d.Random)+len(d.Interplay) > 0 || len(d.Blocks) != blocks
}

// solve fits a response and writes what came out; nothing can be estimated where there is no run.
func (g *general) solve(y []float64, out []values) {
	for k := range g.mean {
		g.mean[k].clear(0, nil)
	}
	for _, random := range [][]linmod.Factor{slices.Concat(g.random, g.interplay), g.random} {
		if len(random) == 0 {
			break
		}
		r, err := mixed.Fit(mixed.Model{Fixed: g.fixed, Random: random}, y)
		if err == nil {
			for k := range g.mean {
				if m, err := r.Means(k); err == nil {
					g.mean[k].take(m.N, m.Contrasts, &out[k])
				}
			}
			return
		}
	}
	fit, err := linmod.Fit(g.within, y)
	if err != nil {
		return
	}
	for k := range g.mean {
		means, err := fit.Means(k)
		if err != nil {
			continue
		}
		g.mean[k].take(means.N, func(c [][]float64) *mixed.Estimates {
			e := means.Contrasts(c)
			return &mixed.Estimates{Value: e.Value, Cov: e.Cov, Estimable: e.Estimable}
		}, &out[k])
		g.mean[k].df, out[k].sigma2 = float64(fit.DF), fit.Sigma2
	}
}

// take fills in what the contrasts of adjusted means say; n counts the runs behind each.
func (p *precision) take(runs []int, contrasts func([][]float64) *mixed.Estimates, out *values) {
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
