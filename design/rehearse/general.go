package rehearse

import (
	"math"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
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

// general is the verdict's model of the runs in hand, in the order of the slots. Incomplete blocks and whole plots
// are random.
func (w *worker) general(drift design.Drift) *general {
	f, n := w.frame, w.slots()
	codes := func(name string, levels int, code func(slot int) int) linmod.Factor {
		out := linmod.Factor{Name: name, Levels: make([]string, levels), Code: make([]int32, n)}
		for i := range levels {
			out.Levels[i] = strconv.Itoa(i + 1)
		}
		for s := range n {
			out.Code[s] = int32(code(s))
		}
		return out
	}
	g := &general{fixed: linmod.Model{Order: 1}}
	block := codes(f.plan.Block.Name, f.blocks, func(s int) int {
		if !w.good[s] {
			return -1 // left out, whatever the response
		}
		return s / f.length
	})
	if w.recovered {
		g.random = append(g.random, block)
	} else {
		g.fixed.Blocks = append(g.fixed.Blocks, block)
	}
	degree := 0
	switch drift.Model {
	case design.DriftLinear:
		degree = 1
	case design.DriftQuadratic:
		degree = 2
	case design.DriftPosition:
		g.fixed.Blocks = append(g.fixed.Blocks, codes("position", f.length, func(s int) int { return s % f.length }))
	}
	for k := 1; k <= degree; k++ {
		c := linmod.Covariate{Name: "position^" + strconv.Itoa(k), Value: make([]float64, n)}
		for s := range n {
			c.Value[s] = math.Pow(float64(s%f.length+1), float64(k))
		}
		if !drift.Shared {
			c.By = &block
		}
		g.fixed.Covariates = append(g.fixed.Covariates, c)
	}
	if w.plot != nil {
		g.random = append(g.random, codes("whole plot", 1+slices.Max(w.plot), func(s int) int { return w.plot[s] }))
	}
	for _, own := range f.factors {
		c := codes(own.name, len(own.labels), func(s int) int { return own.code[w.treatment[s]] })
		c.Levels = own.labels
		g.fixed.Factors = append(g.fixed.Factors, c)
		g.mean = append(g.mean, newPrecision(len(own.labels)))
	}
	if w.several() {
		g.units(w, codes)
	}
	g.within = g.fixed
	g.within.Blocks = slices.Concat(g.fixed.Blocks, g.random)
	return g
}

// several reports whether the plan has more than one unit.
func (f *frame) several() bool { return f.plan.Units != nil && f.plan.Units.Count > 1 }

// random reports whether the verdict's model has random factors.
func (w *worker) random() bool { return w.plot != nil || w.recovered || w.several() }

// units puts several units into the model, as the verdict does: how the treatments differ from unit to unit is
// random, unless there is one run of each at the most.
func (g *general) units(w *worker, codes func(name string, levels int, code func(slot int) int) linmod.Factor) {
	u := w.plan.Units
	of := func(s int) int { return u.Of(s/w.length+1) - 1 }
	if w.recovered {
		g.random = append(g.random, codes(u.Name, u.Count, of))
	}
	for _, own := range w.factors {
		n := len(own.labels)
		f := codes(u.Name+":"+own.name, u.Count*n, func(s int) int { return of(s)*n + own.code[w.treatment[s]] })
		runs := make([]int, len(f.Levels))
		for s, good := range w.good {
			if good {
				runs[f.Code[s]]++
			}
		}
		if slices.Max(runs) > 1 {
			g.interplay = append(g.interplay, f)
		}
	}
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
			if i == j {
				continue
			}
			row, unit := make([]float64, n), make([]float64, n)
			row[i], row[j], unit[j] = 1, -1, 1
			e := contrasts([][]float64{row, unit})
			at := i*n + j
			out.diff[at] = e.Value[0]
			if !e.Estimable[0] {
				continue
			}
			p.set(i, j, e.Cov.At(0, 0), e.Cov.At(0, 1))
			if e.DF != nil {
				if p.dfs == nil {
					p.dfs = make([]float64, n*n)
				}
				p.dfs[at] = e.DF[0]
			}
		}
	}
}
