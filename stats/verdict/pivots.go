package verdict

import (
	"math"

	"fairrun/stats/check"
	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/mixed"
)

// A family of combinations of hard and easy factors is compared within whole plots and across them. Comparisons across lean on
// two estimates of noise, of which the one between whole plots may have few degrees of freedom. Kenward and Roger's
// degrees of freedom are then too many: up to 11 campaigns of 100 call some difference real although there is none. Such families are
// judged by joint pivots of both variances instead ([law.Pivots]), which hold alpha for however few whole plots.

// plotLaw is what the comparisons of such a family are judged by.
type plotLaw struct {
	*mixed.Pivot
	*law.Pivots
	critical [2]float64 // of each stratum
}

// newPlotLaw is the law of some pairs of means of a family; nil where it lies in one stratum, or cannot be judged. Together they hold
// what is left to the family at this look, as plain says.
func newPlotLaw(f family, pairs [][2]int, oneSided bool, plain compare.Family, y yardstick) *plotLaw {
	if f.means.pivot == nil || !y.noise {
		return nil
	}
	p, mixes := f.means.pivot()
	if !mixes {
		return nil
	}
	var of []law.Contrast
	for _, pair := range pairs {
		if f.between(pair[0], pair[1]).Estimable[0] {
			of = append(of, p.Contrast(pair[0], pair[1]))
		}
	}
	if len(of) == 0 {
		return nil
	}
	l := &plotLaw{Pivot: p, Pivots: p.Law(of, oneSided, law.PivotPoints)}
	l.critical = l.Critical(y.level(plain, f.df()))
	return l
}

// allPairs are all pairs of means that can take part.
func (f family) allPairs() (pairs [][2]int) {
	for a, j := range f.live {
		for _, i := range f.live[a+1:] {
			pairs = append(pairs, [2]int{i, j})
		}
	}
	return pairs
}

// pairsWith are the pairs of each mean that can take part with one of them.
func (f family) pairsWith(base int) (pairs [][2]int) {
	for _, i := range f.live {
		if i != base {
			pairs = append(pairs, [2]int{i, base})
		}
	}
	return pairs
}

// half is half of the width of the interval of a pair.
func (l *plotLaw) half(i, j int) float64 { return l.critical[l.Contrast(i, j).In] * l.SE(i, j) }

// adjusted is the p-value of the difference d of means i and j in the family.
func (l *plotLaw) adjusted(i, j int, d float64) float64 {
	c := l.Contrast(i, j)
	return l.Adjust(c.In, d/c.SE)
}

// kenwardRoger is how the comparisons of a family that has a [plotLaw] come out by Kenward and Roger's degrees of freedom, with the
// chance of a false alarm that few whole plots make.
type kenwardRoger struct {
	intervals []AlternativeInterval
	alike     int // called as the verdict does
}

func (k *kenwardRoger) add(made, other Comparison) {
	k.intervals = append(k.intervals, AlternativeInterval{made.Factors, made.Level, made.Against, other.PAdjusted, other.Low, other.High})
	if (made.Low > 0 || made.High < 0) == (other.Low > 0 || other.High < 0) {
		k.alike++
	}
}

// alternative is nil where there are no such comparisons.
func (k *kenwardRoger) alternative() []Alternative {
	n := len(k.intervals)
	if n == 0 {
		return nil
	}
	unknown := check.Result{Statistic: float64(Unknown), DF1: float64(Unknown), P: float64(Unknown)}
	a := alternative("Kenward and Roger", unknown, k.alike == n, calledAlike(k.alike, n))
	a.Intervals = k.intervals
	return []Alternative{a}
}

// leadsByPairs compares each level with the best of the others by the intervals of all pairs: what each holds of others holds
// of the best of them.
func (l *plotLaw) leadsByPairs(f family, larger []float64) []compare.Lead {
	k := len(f.live)
	r := compare.Rivals{Diff: make([]float64, k*k), SE: make([]float64, k*k), Lower: 1, Upper: 1}
	for a, i := range f.live {
		for b, j := range f.live {
			if a != b {
				r.Diff[a*k+b], r.SE[a*k+b] = larger[a]-larger[b], l.half(i, j)
			}
		}
	}
	out := make([]compare.Lead, k)
	r.Intervals(out)
	r.Judge(out, func(a, b int) float64 { return l.adjusted(f.live[a], f.live[b], r.Diff[a*k+b]) })
	for a := range out {
		rival := f.live[out[a].Rival]
		out[a].T = out[a].Estimate / l.SE(f.live[a], rival)
	}
	return out
}

// judge fills in the standard error and p-values of a comparison, and returns the critical value.
func (l *plotLaw) judge(c *Comparison, i, j int, oneSided bool, sign float64) (crit float64) {
	of := l.Contrast(i, j)
	d := float64(c.Estimate)
	t := d / of.SE
	c.SE, c.T = Number(of.SE), Number(t)
	alone := l.Alone(of, t)
	if oneSided {
		t *= sign // larger is better
		if alone /= 2; t < 0 {
			alone = 1 - alone
		}
	}
	c.P, c.PAdjusted = Number(alone), Number(math.Min(1, l.Adjust(of.In, t)))
	return l.critical[of.In]
}
