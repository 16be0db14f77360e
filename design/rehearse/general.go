package rehearse

import (
	"math"
	"slices"
	"strconv"

	"fairrun/design"
	"fairrun/stats/linmod"
)

// general fits by package linmod what fit cannot: runs in which some columns depend on others, so
// that some comparisons cannot be estimated.
type general struct {
	model linmod.Model
	mean  []precision
}

// model is the verdict's model of the runs in hand, in the order of the slots.
func (w *worker) model(drift design.Drift) linmod.Model {
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
	m := linmod.Model{Order: 1}
	m.Blocks = append(m.Blocks, codes(f.plan.Block.Name, f.blocks, func(s int) int { return s / f.length }))
	degree := 0
	switch drift.Model {
	case design.DriftLinear:
		degree = 1
	case design.DriftQuadratic:
		degree = 2
	case design.DriftPosition:
		m.Blocks = append(m.Blocks, codes("position", f.length, func(s int) int { return s % f.length }))
	}
	for k := 1; k <= degree; k++ {
		c := linmod.Covariate{Name: "position^" + strconv.Itoa(k), Value: make([]float64, n)}
		for s := range n {
			c.Value[s] = math.Pow(float64(s%f.length+1), float64(k))
		}
		if !drift.Shared {
			c.By = &m.Blocks[0]
		}
		m.Covariates = append(m.Covariates, c)
	}
	if w.plot != nil {
		m.Blocks = append(m.Blocks, codes("whole plot", 1+slices.Max(w.plot), func(s int) int { return w.plot[s] }))
	}
	for _, own := range f.factors {
		c := codes(own.name, len(own.labels), func(s int) int { return own.code[w.treatment[s]] })
		c.Levels = own.labels
		m.Factors = append(m.Factors, c)
	}
	return m
}

// general fits the runs in hand.
func (w *worker) general(drift design.Drift) *general {
	g := &general{model: w.model(drift)}
	for s, good := range w.good {
		if !good {
			g.model.Blocks[0].Code[s] = -1 // left out, whatever the response
		}
	}
	for _, own := range w.factors {
		g.mean = append(g.mean, newPrecision(len(own.labels)))
	}
	return g
}

// solve fits a response and writes what came out; nothing can be estimated where there is no run.
func (g *general) solve(y []float64, out []values) {
	fit, err := linmod.Fit(g.model, y)
	for k := range g.mean {
		g.mean[k].clear(0, nil)
		if err == nil {
			g.factor(fit, k, &out[k])
		}
	}
}

func (g *general) factor(fit *linmod.Result, k int, out *values) {
	p := &g.mean[k]
	means, err := fit.Means(k)
	if err != nil {
		return
	}
	n := len(means.N)
	var live []int
	for i := range n {
		if means.N[i] > 0 {
			live = append(live, i)
		}
	}
	p.clear(fit.DF, live)
	out.sigma2 = fit.Sigma2
	all := means.All()
	for i := range n {
		out.mean[i] = all.Value[i]
		if all.Estimable[i] {
			p.meanVar[i] = all.Cov.At(i, i)
		}
	}
	for _, i := range live {
		for _, j := range live {
			if i == j {
				continue
			}
			row, unit := make([]float64, n), make([]float64, n)
			row[i], row[j], unit[j] = 1, -1, 1
			e := means.Contrasts([][]float64{row, unit})
			out.diff[i*n+j] = e.Value[0]
			if e.Estimable[0] {
				p.set(i, j, e.Cov.At(0, 0), e.Cov.At(0, 1))
			}
		}
	}
}
