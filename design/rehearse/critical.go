package rehearse

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"

	"fairrun/design"
	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// criticals keeps the critical values of one look of a rehearsal, which few degrees of freedom share. It may be
// used by several goroutines.
type criticals struct {
	compare string
	alpha   float64
	looks   *verdict.Looks // that the look belongs to, the last of its fractions; nil: the only one
	known   sync.Map       // of criticalKey
}

type criticalKey struct {
	levels int
	df     float64
	node   int // of the correlation
	pairs  bool
	level  bool // the level of the look, not its critical value
}

// nodes are the correlations between which critical values of comparisons with one level are
// interpolated. Equal replication without drift has ½.
var nodes = [...]float64{0.25, 0.5, 0.75}

// steps is the number of nodes in 1/df from infinite to one degree of freedom.
const steps = 64

// at returns the critical value for a family of so many levels, of a look for which it stands.
//
// At one of several looks each comparison is judged by the level that the spending function leaves to it, as package verdict
// does: that of its share of alpha in the whole campaign, whose degrees of freedom count if they are more.
func (c *criticals) at(key criticalKey) float64 {
	if c.looks == nil || c.compare == design.CompareBest {
		return c.between(key)
	}
	if !(key.df > 0) {
		return math.NaN()
	}
	whole := key.df == math.Trunc(key.df)
	if x, ok := c.known.Load(key); whole && ok {
		return x.(float64)
	}
	x := critical(c.level(key), key.df)
	if whole {
		c.known.Store(key, x)
	}
	return x
}

// critical is the two-sided critical value of t.
func critical(level, df float64) float64 {
	if level == 0 {
		return math.Inf(1)
	}
	return law.T{DF: df}.UpperQuantile(level / 2)
}

// level is the level of one comparison at the look.
func (c *criticals) level(key criticalKey) float64 {
	key.df, key.level = max(key.df, c.looks.DF), true
	return c.between(key)
}

// between returns what exactly does. Degrees of freedom that are no whole number, which each campaign has its own of, are
// interpolated: the logarithm by the cubic in 1/df through four nodes, good to 1e-4 from 2 degrees of freedom on.
func (c *criticals) between(key criticalKey) float64 {
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
		y := c.exactly(key)
		if y == 0 || math.IsInf(y, 1) {
			return y // too early at any degrees of freedom
		}
		sum += weight * math.Log(y)
	}
	return math.Exp(sum)
}

// exactly returns a critical value or a level, found once.
func (c *criticals) exactly(key criticalKey) float64 {
	if x, ok := c.known.Load(key); ok {
		return x.(float64)
	}
	var x float64
	switch {
	case key.level:
		x = c.ofLook(key)
	case c.looks != nil: // with the best
		x = c.ofFamily(key, c.share(key))
	default:
		x = c.ofFamily(key, c.alpha)
	}
	c.known.Store(key, x)
	return x
}

// share is the chance of a false statement that the intervals with the best have at this look alone.
func (c *criticals) share(key criticalKey) float64 {
	x := critical(c.level(key), key.df)
	if math.IsInf(x, 1) {
		return 0
	}
	return compare.Best{Levels: key.levels}.Adjust(x, key.df)
}

// ofLook is the level that the spending function leaves to one comparison, two-sided.
func (c *criticals) ofLook(key criticalKey) float64 {
	sides := 2.0 // of its share of alpha: a schedule is two-sided
	if c.compare == design.CompareBest {
		sides = 1
	}
	var x float64
	if sides == 1 {
		x = compare.Best{Levels: key.levels}.Critical(c.alpha, key.df)
	} else {
		x = c.ofFamily(key, c.alpha)
	}
	alone := sides * law.T{DF: key.df}.Survival(x)
	looks := power.Schedule{Spending: c.looks.Spending, Alpha: min(alone*2/sides, 0.999), Fractions: c.looks.Fractions}.Looks()
	return looks[len(looks)-1].Level
}

// ofFamily is the critical value of a family that makes a false statement with chance alpha.
func (c *criticals) ofFamily(key criticalKey, alpha float64) float64 {
	switch {
	case alpha == 0:
		return math.Inf(1)
	case key.pairs:
		return compare.Pairs{Levels: key.levels}.Critical(alpha, key.df)
	case key.levels == 2 && c.compare == design.CompareBaseline:
		return compare.Single{}.Critical(alpha, key.df)
	}
	corr := mat.NewSymDense(key.levels-1, nil)
	for i := range key.levels - 1 {
		for j := i; j < key.levels-1; j++ {
			corr.SetSym(i, j, nodes[key.node])
		}
		corr.SetSym(i, i, 1)
	}
	x, _ := law.MultivariateT{Corr: corr, DF: key.df}.UpperQuantile(alpha, c.compare == design.CompareBaseline)
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
