package judge

import "math"

// Precision is what an order says of the comparisons of a factor: variances in units of the noise's.
type Precision struct {
	df       float64
	dfs      []float64 // of the difference of i and j, by i·n + j; nil: df, all of them
	live     []int     // levels that can take part
	variance []float64 // of the difference of levels i and j, by i·n + j; NaN where it cannot be estimated
	with     []float64 // covariance of the difference of i and j with the mean of j
	meanVar  []float64 // NaN where the mean cannot be estimated

	common [2]common // critical values of all comparisons that were asked for, the first two looks
	plots  *plots    // what comparisons are judged by that are made within whole plots and across them; otherwise nil
}

// common is the critical value that all comparisons of a factor have at a look.
type common struct {
	of    *Criticals // nil: not asked for yet
	value float64
}

// Estimates are those of the comparisons of a factor for one response.
type Estimates struct {
	sigma2 float64   // residual mean square
	mean   []float64 // of each level
	diff   []float64 // of levels i and j, by i·n + j
}

// NewEstimates makes room for those of each factor of a model.
func NewEstimates(m *Model) []Estimates {
	var out []Estimates
	for _, f := range m.Factors {
		out = append(out, Estimates{mean: make([]float64, f.Levels), diff: make([]float64, f.Levels*f.Levels)})
	}
	return out
}

// Estimable reports whether the difference of levels i and j can be estimated.
func (p *Precision) Estimable(i, j int) bool { return !math.IsNaN(p.variance[i*len(p.meanVar)+j]) }

func newPrecision(n int) Precision {
	return Precision{variance: make([]float64, n*n), with: make([]float64, n*n), meanVar: make([]float64, n)}
}

// Shift adds a true difference of one level from all others. Where the model holds it, this is what
// a fit to the shifted response would give.
func (v *Estimates) Shift(level int, by float64) {
	n := len(v.mean)
	v.mean[level] += by
	for i := range n {
		if i != level {
			v.diff[level*n+i] += by
			v.diff[i*n+level] -= by
		}
	}
}

// clear forgets all but the levels that can take part.
func (p *Precision) clear(df float64, live []int) {
	nan := math.NaN()
	p.df, p.dfs, p.live = df, nil, live
	p.common = [2]common{}
	p.plots = nil
	for i := range p.variance {
		p.variance[i], p.with[i] = nan, nan
	}
	for i := range p.meanVar {
		p.meanVar[i] = nan
	}
}

func (p *Precision) set(i, j int, variance, with float64) {
	n := len(p.meanVar)
	p.variance[i*n+j], p.with[i*n+j] = variance, with
}

// both sets the difference of levels i and j either way round: Cov(j − i, i) = −Cov(i − j, j) − Var(i − j).
func (p *Precision) both(i, j int, variance, with float64) {
	p.set(i, j, variance, with)
	p.set(j, i, variance, -with-variance)
}

// between returns the degrees of freedom of the difference of levels i and j.
func (p *Precision) between(i, j int) float64 {
	if p.dfs == nil {
		return p.df
	}
	return p.dfs[i*len(p.meanVar)+j]
}
