package judge

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/power"
)

// Criticals keeps the critical values of one look, which few degrees of freedom share. It may be
// used by several goroutines.
type Criticals struct {
	kind  compare.Kind
	alpha float64
	look  *power.Interim
	own   ownLaw
	table []int    // levels of each factor of the table that is one family; nil: each factor is
	known sync.Map // of criticalKey
}

// NewCriticals returns the critical values of a kind of family that holds alpha together, at one of several
// looks, or at the only one if look is nil.
func NewCriticals(kind compare.Kind, alpha float64, look *power.Interim) *Criticals {
	return &Criticals{kind: kind, alpha: alpha, look: look}
}

// ownLaw is the law of families whose levels have a noise of their own.
type ownLaw int

const (
	commonNoise ownLaw = iota
	withinNoise        // by runs within blocks
	pairedNoise        // by paired differences
)

// ByLevel makes them those of levels with a noise of their own: pairs by Tukey's law where that is known from runs within
// blocks, otherwise, and all comparisons with a baseline, by Bonferroni's bound.
func (c *Criticals) ByLevel(within bool) *Criticals {
	if c.own = pairedNoise; within {
		c.own = withinNoise
	}
	return c
}

// OneTable returns critical values that hold alpha together over the factors of a model, all of whose levels have runs, and so
// many responses.
func (c *Criticals) OneTable(m *Model, responses int) *Criticals {
	out := NewCriticals(c.kind, c.alpha/float64(responses), c.look)
	if out.own = c.own; c.own != commonNoise {
		out.alpha /= float64(len(m.Factors))
		return out
	}
	for _, f := range m.Factors {
		out.table = append(out.table, f.Levels)
	}
	if c.kind == compare.KindBest { // beside which trends are families of their own
		shares := len(out.table)
		for _, f := range m.Factors {
			if f.Trends {
				shares++
			}
		}
		out.alpha /= float64(shares)
	}
	return out
}

type criticalKey struct {
	levels int
	df     float64
	node   int // of the correlation
	pairs  bool
	end    bestEnd // of the intervals with the best
	level  bool    // the level of the look, not its critical value
}

// bestEnd is an end of the intervals with the best.
type bestEnd int

const (
	lowEnd bestEnd = iota + 1
	highEnd
)

// nodes are the correlations between which critical values of comparisons with one level are
// interpolated. Equal replication without drift has ½.
var nodes = [...]float64{0.25, 0.5, 0.75}

// steps is the number of nodes in 1/df from infinite to one degree of freedom.
const steps = 64

// at returns the critical value for a family of so many levels, at the look for which it stands.
func (c *Criticals) at(key criticalKey) float64 {
	if c.look == nil || key.end != 0 {
		return c.between(key)
	}
	if !(key.df > 0) {
		return math.NaN()
	}
	whole := key.df == math.Trunc(key.df)
	if x, ok := c.known.Load(key); whole && ok {
		return x.(float64)
	}
	x := c.alone(key)
	if whole {
		c.known.Store(key, x)
	}
	return x
}

// alone is the critical value of one comparison at one of several looks, with the level that the
// look leaves to it.
func (c *Criticals) alone(key criticalKey) float64 {
	whole := key
	whole.df, whole.level = c.look.Whole(key.df), true
	x, err := power.Look{Level: c.between(whole)}.Critical(key.df)
	if err != nil {
		return math.NaN()
	}
	return x
}

// between returns what exactly does. Degrees of freedom that are no whole number, which each campaign has its own of, are
// interpolated: the logarithm by the cubic in 1/df through four nodes, good to 1e-4 from 2 degrees of freedom on. Under one,
// where they grow beyond all bounds, they are found as they are.
func (c *Criticals) between(key criticalKey) float64 {
	if key.df == math.Trunc(key.df) {
		return c.exactly(key)
	}
	if key.df < 1 {
		return c.find(key)
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
func (c *Criticals) exactly(key criticalKey) float64 {
	if x, ok := c.known.Load(key); ok {
		return x.(float64)
	}
	x := c.find(key)
	c.known.Store(key, x)
	return x
}

func (c *Criticals) find(key criticalKey) float64 {
	switch {
	case key.level:
		l, err := c.look.At(c.family(key), c.alpha, key.df)
		if err != nil {
			return math.NaN()
		}
		return l.Level
	case key.end != 0:
		return c.constant(key)
	}
	return c.family(key).Critical(c.alpha, key.df)
}

// constant is that of an end of the intervals with the best, at the chance of a false statement that
// the look leaves to them.
func (c *Criticals) constant(key criticalKey) float64 {
	alpha := c.alpha
	if c.look != nil {
		alpha = compare.Chance(c.family(key), c.alone(key), key.df)
	}
	if alpha == 0 {
		return math.Inf(1)
	}
	of := law.LessBest{Groups: key.levels, DF: key.df}
	if key.end == highEnd {
		return of.Upper(alpha)
	}
	return of.Lower(alpha)
}

// family is that of a key, or the table that it is part of.
func (c *Criticals) family(key criticalKey) compare.Family {
	own := c.ofFactor(key)
	if key.end != 0 || len(c.table) < 2 {
		return own
	}
	all := []compare.Family{own}
	for i, levels := range c.table {
		switch {
		case i == slices.Index(c.table, key.levels):
		case key.pairs:
			all = append(all, compare.Pairs{Levels: levels})
		default:
			all = append(all, compare.Baseline{Levels: levels})
		}
	}
	return compare.OneTable(all)
}

// ofFactor is the family of a key's factor alone.
func (c *Criticals) ofFactor(key criticalKey) compare.Family {
	switch {
	case key.end != 0:
		return compare.Best{Levels: key.levels}
	case key.pairs && c.own == pairedNoise:
		return compare.Slices{Family: compare.Single{}, Count: max(1, key.levels*(key.levels-1)/2)}
	case key.pairs:
		return compare.Pairs{Levels: key.levels}
	case c.own != commonNoise:
		return compare.Slices{Family: compare.Single{}, Count: max(1, key.levels-1)}
	}
	corr := mat.NewSymDense(key.levels-1, nil)
	for i := range key.levels - 1 {
		for j := i; j < key.levels-1; j++ {
			corr.SetSym(i, j, nodes[key.node])
		}
		corr.SetSym(i, i, 1)
	}
	return compare.Together(corr, false)
}

// best returns the two constants of the intervals with the best of k levels.
func (c *Criticals) best(k int, df float64) (lower, upper float64) {
	return c.at(criticalKey{levels: k, df: df, end: lowEnd}), c.at(criticalKey{levels: k, df: df, end: highEnd})
}

// pairs returns the critical value of all pairs.
func (c *Criticals) pairs(p *Precision, df float64) float64 {
	return c.at(criticalKey{levels: len(p.live), df: df, pairs: true})
}

// against returns the critical value of the comparisons of a level with each other one: that of
// equal correlations with the same mean, by the parabola through three.
func (c *Criticals) against(p *Precision, base int, df float64) float64 {
	n := len(p.meanVar)
	if c.own != commonNoise {
		return c.at(criticalKey{levels: len(p.live), df: df, node: 1})
	}
	if df <= fewest {
		return c.exactlyAgainst(p, base, df)
	}
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

// fewest is how few degrees of freedom make equal correlations stand for any others too badly.
const fewest = 2

// exactlyAgainst is what against stands for, with the correlations as they are.
func (c *Criticals) exactlyAgainst(p *Precision, base int, df float64) float64 {
	n := len(p.meanVar)
	var others []int
	for _, i := range p.live {
		if i != base && !math.IsNaN(p.variance[i*n+base]) {
			others = append(others, i)
		}
	}
	if len(others) == 0 || !(df > 0) {
		return c.at(criticalKey{levels: len(others) + 1, df: df, node: 1})
	}
	corr := mat.NewSymDense(len(others), nil)
	for a, i := range others {
		for b, j := range others[:a] {
			vi, vj := p.variance[i*n+base], p.variance[j*n+base]
			corr.SetSym(a, b, (vi+vj-p.variance[i*n+j])/(2*math.Sqrt(vi*vj)))
		}
		corr.SetSym(a, a, 1)
	}
	family := compare.Together(corr, false)
	if c.look == nil {
		return family.Critical(c.alpha, df)
	}
	x, err := c.look.Critical(family, c.alpha, df)
	if err != nil {
		return math.NaN()
	}
	return x
}
