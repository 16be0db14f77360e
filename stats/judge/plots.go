package judge

import (
	"fmt"
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/mixed"
)

// plots is what comparisons are judged by that are made within whole plots and across them, as the verdict judges them by the
// law of [law.Pivots], with fewer points.
type plots struct {
	*mixed.Pivot
	points int
	known  [2]plotCritical // for the first two looks that were asked for
}

// plotCritical are the critical values of a family, one a stratum.
type plotCritical struct {
	of    *Criticals // nil: not asked for yet
	value [2]float64
}

// lean takes precision from the estimates of both variances.
func (p *Precision) lean(on *mixed.Pivot, points int) {
	n := len(p.meanVar)
	for _, i := range p.live {
		if !math.IsNaN(p.meanVar[i]) {
			p.meanVar[i] = on.Cov.At(i, i)
		}
		for _, j := range p.live {
			if i > j && !math.IsNaN(p.variance[i*n+j]) {
				se := on.SE(i, j)
				p.both(i, j, se*se, on.Cov.At(i, j)-on.Cov.At(j, j))
			}
		}
	}
	p.plots = &plots{Pivot: on, points: points}
}

// plotCriticals returns the critical values of the family, with the baseline base if it has one.
func (j *Reading) plotCriticals(base int) [2]float64 {
	p := j.p.plots
	for a := range p.known {
		known := &p.known[a]
		if known.of == nil {
			*known = plotCritical{j.crit, j.worked(base)}
		}
		if known.of == j.crit {
			return known.value
		}
	}
	return j.worked(base)
}

// worked finds them. Where whole plots are alike the only look has them from a table.
func (j *Reading) worked(base int) [2]float64 {
	p := j.p
	if j.crit.kind != compare.KindBaseline {
		base = -1
	}
	if j.crit.look == nil && p.plots.points < law.PivotPoints && p.plots.Strata().Alike() {
		return j.crit.balanced(p, base)
	}
	df := compare.FamilyDF(len(p.live), func(a, b int) (float64, bool) {
		return p.between(p.live[a], p.live[b]), p.Estimable(p.live[a], p.live[b])
	})
	of := contrasts(p.live, base, p.Estimable, p.plots.Contrast)
	return p.plots.Law(of, false, p.plots.points).Critical(j.crit.levelAt(len(p.live), df))
}

// contrasts are those of all pairs of levels, or with a baseline if it is not -1.
func contrasts(live []int, base int, estimable func(i, j int) bool, contrast func(i, j int) law.Contrast) (of []law.Contrast) {
	for a, i := range live {
		for _, k := range live[:a] {
			if estimable(i, k) && (base < 0 || i == base || k == base) {
				of = append(of, contrast(i, k))
			}
		}
	}
	return of
}

// plotKey is a node of the table of critical values in balanced campaigns.
type plotKey struct {
	sets   string // of the levels: which share whole plots
	base   int
	within float64 // degrees of freedom
	plots  int     // the same between whole plots
	node   int
}

// Nodes of the table: logarithms of the ratio of mean squares.
const (
	plotStep  = 0.5
	plotFirst = -16 // of the steps
	plotLast  = 24
)

// balanced returns the critical values of a balanced campaign with the same levels, degrees of freedom and ratio of mean
// squares, by the cubic through four nodes.
func (c *Criticals) balanced(p *Precision, base int) (out [2]float64) {
	s := p.plots.Strata()
	set := make([]int, len(p.live))
	first := map[int]int{}
	key := plotKey{base: -1, within: s.DF, plots: len(s.Square)}
	for a, i := range p.live {
		if _, known := first[p.plots.Set(i)]; !known {
			first[p.plots.Set(i)] = len(first)
		}
		set[a] = first[p.plots.Set(i)]
		if i == base {
			key.base = a
		}
	}
	key.sets = fmt.Sprint(set)
	x := min(max(math.Log(s.Ratio())/plotStep, plotFirst), plotLast)
	from := min(max(int(math.Floor(x))-1, plotFirst), plotLast-3)
	for a := from; a < from+4; a++ {
		weight := 1.0
		for b := from; b < from+4; b++ {
			if b != a {
				weight *= (x - float64(b)) / float64(a-b)
			}
		}
		key.node = a
		at := c.plotNode(key, set)
		out[0] += weight * at[0]
		out[1] += weight * at[1]
	}
	return out
}

// plotNode returns a node of the table, found once.
func (c *Criticals) plotNode(key plotKey, set []int) [2]float64 {
	if x, ok := c.known.Load(key); ok {
		return x.([2]float64)
	}
	s := law.BalancedStrata(set, key.plots, key.within, math.Exp(plotStep*float64(key.node)))
	within, between := s.Variances()
	all := make([]int, len(set))
	for i := range all {
		all[i] = i
	}
	of := contrasts(all, key.base, func(int, int) bool { return true }, func(i, j int) law.Contrast {
		made := law.Contrast{I: i, J: j, SE: s.SE(i, j, within, between), In: law.WithinPlots}
		if set[i] != set[j] {
			made.In = law.AcrossPlots
		}
		return made
	})
	x := law.NewPivots(s, of, false, law.PivotPoints/4).Critical(c.alpha)
	for in := range x {
		if math.IsNaN(x[in]) { // no comparison in this stratum
			x[in] = 0
		}
	}
	c.known.Store(key, x)
	return x
}

// levelAt is the level that a family of so many levels has at the look for which the critical values stand.
func (c *Criticals) levelAt(levels int, df float64) float64 {
	if c.look == nil {
		return c.alpha
	}
	key := criticalKey{levels: levels, df: df, node: 1, pairs: c.kind != compare.KindBaseline}
	return compare.Chance(c.family(key), c.at(key), df)
}
