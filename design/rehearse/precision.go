package rehearse

import "math"

// precision is what a design says of the comparisons of a factor, whatever the response: variances
// in units of the noise's.
type precision struct {
	df       float64
	dfs      []float64      // of the difference of i and j, by i·n + j; nil: df, all of them
	common   [rules]float64 // critical value of all comparisons by each rule, once it was asked for; NaN before
	live     []int          // levels that can take part
	variance []float64      // of the difference of levels i and j, by i·n + j; NaN where it cannot be estimated
	with     []float64      // covariance of the difference of i and j with the mean of j
	meanVar  []float64      // NaN where the mean cannot be estimated
}

// values are the estimates of the comparisons of a factor for one response.
type values struct {
	sigma2 float64   // residual mean square
	mean   []float64 // of each level
	diff   []float64 // of levels i and j, by i·n + j
}

func newPrecision(n int) precision {
	return precision{variance: make([]float64, n*n), with: make([]float64, n*n), meanVar: make([]float64, n)}
}

// shift adds a true difference of one level of n from all others, in whose estimates alone it then is.
func (v *values) shift(level int, by float64) {
	n := len(v.mean)
	v.mean[level] += by
	for i := range n {
		if i != level {
			v.diff[level*n+i] += by
			v.diff[i*n+level] -= by
		}
	}
}

func newValues(n int) values {
	return values{mean: make([]float64, n), diff: make([]float64, n*n)}
}

// clear forgets all but the levels that can take part.
func (p *precision) clear(df float64, live []int) {
	nan := math.NaN()
	p.df, p.dfs, p.live = df, nil, live
	for i := range p.common {
		p.common[i] = nan
	}
	for i := range p.variance {
		p.variance[i], p.with[i] = nan, nan
	}
	for i := range p.meanVar {
		p.meanVar[i] = nan
	}
}

func (p *precision) set(i, j int, variance, with float64) {
	n := len(p.meanVar)
	p.variance[i*n+j], p.with[i*n+j] = variance, with
}

// both sets the difference of levels i and j either way round: Cov(j − i, i) = −Cov(i − j, j) − Var(i − j).
func (p *precision) both(i, j int, variance, with float64) {
	p.set(i, j, variance, with)
	p.set(j, i, variance, -with-variance)
}

// between returns the degrees of freedom of the difference of levels i and j.
func (p *precision) between(i, j int) float64 {
	if p.dfs == nil {
		return p.df
	}
	return p.dfs[i*len(p.meanVar)+j]
}
