package verdict

import (
	"fmt"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

const factorsTogether = "factors together"

// addUp says whether the effects of the factors may be read one by one. With
// interactions in the model it names the real ones, which families to read, and real is true if there are any; without, it tests
// whether leaving them out was fair.
func addUp(d *Data, q *Request, f *fit, anova []ANOVARow, y []float64) (said remarks, read *Read, real bool) {
	if len(d.Treatments) < 2 || f.variance == 0 {
		return nil, nil, false
	}
	if !q.Interactions {
		return leftOut(f, y, q.MainOnly), nil, false
	}
	var found []string
	least := Unknown
	for _, row := range anova {
		if len(row.Factors) < 2 || !row.P.Known() {
			continue
		}
		if !least.Known() || row.P < least {
			least = row.P
		}
		if float64(row.P) < q.Alpha {
			found = append(found, fmt.Sprintf("%s (%s)", row.Term, words.P(float64(row.P))))
		}
	}
	if len(found) > 0 {
		why := strings.Join(found, ", ") + ": the effect of one factor depends on the other"
		said.warn(factorsTogether, "%s, so a factor's effect must not be read alone; compare combinations, or one factor with the others held", why)
		return said, &Read{Of: ReadCombinations, Why: why}, true
	}
	said.note(factorsTogether, "no interaction is clear of chance: the effects of the factors look as if they add up")
	switch {
	case q.Chosen != nil:
		return said, &Read{Of: ReadCombinations, Why: "not all combinations are run, so that nothing averages over them"}, false
	case !least.Known():
		return said, &Read{Of: ReadCombinations, Why: "these runs do not show whether the effects of the factors add up"}, false
	}
	return said, &Read{Of: ReadAverages, Why: fmt.Sprintf("no interaction is clear of chance (the smallest %s), so the effects look as if they add up", words.P(float64(least)))}, false
}

// leftOut tests the interactions of pairs of factors that the model leaves out.
func leftOut(f *fit, y []float64, mainOnly bool) (said remarks) {
	m, small := f.within, f.squares
	if f.cells != nil {
		m, small, y = f.cells.Model, f.cells.Cells, f.cells.Mean
	}
	m.Order = 2
	r, err := linmod.Fit(m, y)
	switch {
	case err != nil:
		said.skip(factorsTogether, err)
	case r.DF == small.DF:
		said.note(factorsTogether, "not checked: the runs do not tell interactions apart")
	case r.DF == 0 || r.RSS == 0:
		said.note(factorsTogether, "not checked: too few runs to tell interactions from noise")
	default:
		x, p := extra(small, r)
		then := "judge again with interactions"
		if mainOnly {
			then = "what it is, beyond the sum, is counted as noise"
		}
		said.judge(factorsTogether, x, p, "the effects of the factors look as if they add up",
			fmt.Sprintf("the effects of the factors do not add up (%s): the effect of one depends on the other; %s", words.P(p), then))
	}
	return said
}

// extra is the F test of what a larger model explains beyond one within it, and its p-value.
func extra(small, large *linmod.Result) (f, p float64) {
	d1, d2 := float64(small.DF-large.DF), float64(large.DF)
	f = (small.RSS - large.RSS) / d1 / large.Sigma2
	return f, law.F{D1: d1, D2: d2}.Survival(f)
}

// simpleEffects compares the levels of each factor with the others held: the
// pairs of combinations that differ in that factor only. All such comparisons of
// a factor are one family: all pairs in each slice, slices by Bonferroni.
func simpleEffects(f family, treatments []linmod.Factor, y yardstick) (out []SimpleEffect) {
	if f.average {
		return nil
	}
	for k, factor := range treatments {
		law := compare.Keep(compare.Slices{Family: compare.Pairs{Levels: max(2, len(factor.Levels))}, Count: max(1, len(f.labels)/len(factor.Levels))})
		plots := newPlotLaw(f, f.simplePairs(k), false, law, y)
		for a, j := range f.live {
			for _, i := range f.live[a+1:] {
				at, against := f.means.levels[i], f.means.levels[j]
				if !differOnlyIn(at, against, k) {
					continue
				}
				c := SimpleEffect{At: held(treatments, at, k), Comparison: blank(f, i, j)}
				c.Factors = []string{factor.Name}
				c.Level, c.Against = factor.Levels[at[k]], factor.Levels[against[k]]
				if e := f.between(i, j); e.Estimable[0] {
					c.estimate(f, i, j, e, law, plots, y)
				}
				out = append(out, c)
			}
		}
	}
	return out
}

// simplePairs are the pairs of combinations that differ in factor k only.
func (f family) simplePairs(k int) (pairs [][2]int) {
	for _, p := range f.allPairs() {
		if differOnlyIn(f.means.levels[p[0]], f.means.levels[p[1]], k) {
			pairs = append(pairs, p)
		}
	}
	return pairs
}

// differOnlyIn says whether two combinations differ in one factor only.
func differOnlyIn(a, b []int, factor int) bool {
	for k := range a {
		if (a[k] != b[k]) != (k == factor) {
			return false
		}
	}
	return true
}

// held names the levels at which the other factors are held.
func held(treatments []linmod.Factor, levels []int, factor int) string {
	var parts []string
	for k, level := range levels {
		if k != factor {
			parts = append(parts, treatments[k].Name+" "+treatments[k].Levels[level])
		}
	}
	return strings.Join(parts, ", ")
}
