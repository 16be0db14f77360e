package rehearse

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"

	"fairrun/design"
	"fairrun/stats/compare"
	"fairrun/stats/dist"
)

// criticals keeps the critical values of a rehearsal, which few degrees of freedom share. It may be
// used by several goroutines.
type criticals struct {
	compare string
	alpha   float64
	known   sync.Map // of criticalKey
}

type criticalKey struct {
	levels int
	df     float64
	node   int // of the correlation
	pairs  bool
}

// nodes are the correlations between which critical values of comparisons with one level are
// interpolated. Equal replication without drift has ½.
var nodes = [...]float64{0.25, 0.5, 0.75}

// steps is the number of nodes in 1/df from infinite to one degree of freedom.
const steps = 64

// at returns the critical value for a family of so many levels. Degrees of freedom that are no whole
// number, which each campaign has its own of, are interpolated: the logarithm of the critical value by the cubic
// in 1/df through four nodes, good to 1e-4 from 2 degrees of freedom on.
func (c *criticals) at(key criticalKey) float64 {
	if key.df == math.Trunc(key.df) {
		return c.exactly(key)
	}
	x := steps / key.df
	first := max(0, int(x)-1)
	var sum float64
	for a := first; a < first+4; a++ {
		weight := 1.0
		for b := first; b < first+4; b++ {
			if b != a {
				weight *= (x - float64(b)) / float64(a-b)
			}
		}
		key.df = math.Inf(1)
		if a > 0 {
			key.df = steps / float64(a)
		}
		sum += weight * math.Log(c.exactly(key))
	}
	return math.Exp(sum)
}

// exactly returns a critical value, found once.
func (c *criticals) exactly(key criticalKey) float64 {
	if x, ok := c.known.Load(key); ok {
		return x.(float64)
	}
	var x float64
	df := key.df
	switch {
	case key.pairs:
		x = compare.Pairs{Levels: key.levels}.Critical(c.alpha, df)
	case key.levels == 2 && c.compare == design.CompareBaseline:
		x = compare.Single{}.Critical(c.alpha, df)
	default:
		corr := mat.NewSymDense(key.levels-1, nil)
		for i := range key.levels - 1 {
			for j := i; j < key.levels-1; j++ {
				corr.SetSym(i, j, nodes[key.node])
			}
			corr.SetSym(i, i, 1)
		}
		x, _ = dist.MultivariateT{Corr: corr, DF: df}.UpperQuantile(c.alpha, c.compare == design.CompareBaseline)
	}
	c.known.Store(key, x)
	return x
}

// pairs returns the critical value of all pairs.
func (c *criticals) pairs(p *precision, df float64) float64 {
	return c.at(criticalKey{levels: len(p.live), df: df, pairs: true})
}

// against returns the critical value of the comparisons of a level with each other one: that of
// equal correlations with the same mean, by the parabola through three.
func (c *criticals) against(p *precision, base int, df float64) float64 {
	n := len(p.meanVar)
	var sum float64
	var count, compared int
	for a, i := range p.live {
		if i == base || math.IsNaN(p.variance[i*n+base]) {
			continue
		}
		compared++
		for _, j := range p.live[:a] {
			if j == base || math.IsNaN(p.variance[j*n+base]) {
				continue
			}
			vi, vj := p.variance[i*n+base], p.variance[j*n+base]
			sum += (vi + vj - p.variance[i*n+j]) / (2 * math.Sqrt(vi*vj))
			count++
		}
	}
	key := criticalKey{levels: compared + 1, df: df, node: 1}
	if count == 0 {
		return c.at(key)
	}
	rho := sum / float64(count)
	if math.Abs(rho-0.5) < 1e-12 {
		return c.at(key)
	}
	var x float64
	for a, ra := range nodes {
		weight := 1.0
		for b, rb := range nodes {
			if b != a {
				weight *= (rho - rb) / (ra - rb)
			}
		}
		key.node = a
		x += weight * c.at(key)
	}
	return x
}
