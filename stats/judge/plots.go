package judge

import (
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

// worked finds them.
func (j *Reading) worked(base int) [2]float64 {
	p := j.p
	var of []law.Contrast
	for a, i := range p.live {
		for _, k := range p.live[:a] {
			if p.Estimable(i, k) && (j.crit.kind != compare.KindBaseline || i == base || k == base) {
				of = append(of, p.plots.Contrast(i, k))
			}
		}
	}
	df := compare.FamilyDF(len(p.live), func(a, b int) (float64, bool) {
		return p.between(p.live[a], p.live[b]), p.Estimable(p.live[a], p.live[b])
	})
	return p.plots.Law(of, false, p.plots.points).Critical(j.crit.levelAt(len(p.live), df))
}

// levelAt is the level that a family of so many levels has at the look for which the critical values stand.
func (c *Criticals) levelAt(levels int, df float64) float64 {
	if c.look == nil {
		return c.alpha
	}
	key := criticalKey{levels: levels, df: df, node: 1, pairs: c.kind != compare.KindBaseline}
	return compare.Chance(c.family(key), c.at(key), df)
}
