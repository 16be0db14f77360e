package verdict

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

// alternatives makes the tests that lean on less than the model does, when the
// checks cast doubt on it, and says whether they call the same differences
// clear of zero. Those are made; overall is p of the F test, and sign is −1 where lower is better.
//
// Where the model has blocks or covariates, Welch's and the rank tests are made
// on aligned responses (what blocks and covariates account for taken out,
// Hodges & Lehmann 1962), which makes their levels approximate.
func alternatives(d *Data, q *Request, f *fit, doubt doubts, made []Comparison, overall Number, sign float64, y []float64) (out []Alternative, said remarks) {
	if !doubt.shape && !doubt.spread {
		return nil, nil
	}
	groups, labels := aligned(d.Treatments, f.squares)
	if len(groups) < 2 {
		return nil, nil
	}
	called := calledClear(made, q.OneSided, sign)
	add := func(a Alternative, name string, err error) {
		if err != nil {
			said.skip(name, err)
			return
		}
		out = append(out, a)
	}
	if doubt.spread {
		a, name, err := welch(groups, labels, q.Alpha, called)
		for i := range a.Intervals {
			a.Intervals[i].Factors = names(d.Treatments)
		}
		add(a, name, err)
	}
	if doubt.shape {
		add(ranks(groups, labels, q.Alpha, called))
		if len(d.Blocks) == 1 {
			add(friedman(d.Treatments, d.Blocks[0], q.Alpha, overall, y))
		}
	}
	return out, said
}

// aligned gathers the responses by treatment with blocks and covariates taken
// out: the treatment's fitted mean plus the residual.
func aligned(treatments []linmod.Factor, fit *linmod.Result) (groups [][]float64, names []string) {
	all := every(treatments)
	means, err := fit.Means(all...)
	if err != nil {
		return nil, nil
	}
	estimates := means.All()
	groups = make([][]float64, len(means.Levels))
	for i, v := range fit.Residuals() {
		if math.IsNaN(v) {
			continue
		}
		k := 0
		for _, f := range treatments {
			k = k*len(f.Levels) + int(f.Code[i])
		}
		groups[k] = append(groups[k], estimates.Value[k]+v)
	}
	joinTies(groups)
	kept := groups[:0]
	for k, g := range groups {
		if len(g) > 0 && estimates.Estimable[k] {
			kept = append(kept, g)
			names = append(names, label(treatments, all, means.Levels[k]))
		}
	}
	return kept, names
}

// joinTies makes values equal that only the rounding of the fit tells apart: readings that
// were equal count as ties in a rank test.
func joinTies(groups [][]float64) {
	const rounding = 1e-11
	var at []*float64
	for _, g := range groups {
		for i := range g {
			at = append(at, &g[i])
		}
	}
	if len(at) == 0 {
		return
	}
	slices.SortFunc(at, func(a, b *float64) int { return cmp.Compare(*a, *b) })
	near := rounding * (*at[len(at)-1] - *at[0])
	for i, v := range at[1:] {
		if *v-*at[i] <= near {
			*v = *at[i]
		}
	}
}

// calledClear tells which pairs of treatments the model's own comparisons call clear
// of zero. Only comparisons of treatments with each other have a counterpart in
// an alternative, and of one-sided ones those in the direction that is asked about.
func calledClear(made []Comparison, oneSided bool, sign float64) map[[2]string]bool {
	out := map[[2]string]bool{}
	for _, c := range made {
		if oneSided && sign*float64(c.Estimate) < 0 {
			continue
		}
		out[[2]string{c.Level, c.Against}] = clearOfZero(c)
	}
	return out
}

// clearOfZero says whether the interval of a comparison leaves zero out.
func clearOfZero(c Comparison) bool { return c.Low > 0 || c.High < 0 }

// pair is what an alternative says of two treatments.
type pair struct {
	i, j  int
	clear bool
}

// survives compares the pairs of an alternative with the model's. It says how
// many of the pairs that both make are called alike.
func survives(called map[[2]string]bool, names []string, pairs []pair) (bool, string) {
	alike, made := 0, 0
	for _, p := range pairs {
		for _, key := range [][2]string{{names[p.i], names[p.j]}, {names[p.j], names[p.i]}} {
			if clear, ok := called[key]; ok {
				made++
				if clear == p.clear {
					alike++
				}
			}
		}
	}
	if made == 0 {
		return true, allTogether
	}
	return alike == made, calledAlike(alike, made)
}

const allTogether = "it is a test of all treatments together"

// calledAlike says how many of some comparisons an alternative calls as the model does.
func calledAlike(alike, of int) string {
	return fmt.Sprintf("%d of %s %s called alike", alike, words.Count(of, "comparison"), words.Agree(of, "is", "are"))
}

// alternative is the answer of one alternative.
func alternative(name string, r check.Result, survives bool, message string) Alternative {
	a := Alternative{Intervals: []AlternativeInterval{}, Name: name, Statistic: Number(r.Statistic), DF1: Number(r.DF1), DF2: Unknown, P: Number(r.P), Survives: survives, Message: message}
	if r.DF2 > 0 {
		a.DF2 = Number(r.DF2)
	}
	return a
}

// welch makes Welch's test and Games & Howell's pairs. The name is that of the test which could
// not be made, if one could not.
func welch(groups [][]float64, names []string, alpha float64, called map[[2]string]bool) (a Alternative, name string, err error) {
	r, err := check.Welch(groups)
	if err != nil {
		return a, "Welch's test", err
	}
	made, err := check.GamesHowell(groups, alpha)
	if err != nil {
		return a, "Games-Howell", err
	}
	var pairs []pair
	for _, m := range made {
		pairs = append(pairs, pair{m.Level, m.Against, m.Low > 0 || m.High < 0})
	}
	ok, message := survives(called, names, pairs)
	a = alternative("Welch with Games-Howell", r, ok, message)
	for _, m := range made {
		a.Intervals = append(a.Intervals, AlternativeInterval{Level: names[m.Level], Against: names[m.Against], PAdjusted: Number(m.P), Low: Number(m.Low), High: Number(m.High)})
	}
	return a, "", nil
}

// ranks makes Kruskal & Wallis's test and Dunn's pairs.
func ranks(groups [][]float64, names []string, alpha float64, called map[[2]string]bool) (a Alternative, name string, err error) {
	r, err := check.KruskalWallis(groups)
	if err != nil {
		return a, "Kruskal-Wallis", err
	}
	made, err := check.Dunn(groups)
	if err != nil {
		return a, "Dunn", err
	}
	var pairs []pair
	for _, m := range made {
		pairs = append(pairs, pair{m.Level, m.Against, m.Adjusted < alpha})
	}
	ok, message := survives(called, names, pairs)
	return alternative("Kruskal-Wallis with Dunn", r, ok, message), "", nil
}

// friedman makes the rank test within blocks of all treatments together.
func friedman(treatments []linmod.Factor, block linmod.Factor, alpha float64, overall Number, y []float64) (a Alternative, name string, err error) {
	treatment := make([]int32, len(y))
	for i := range treatment {
		for _, f := range treatments {
			treatment[i] = treatment[i]*int32(len(f.Levels)) + max(f.Code[i], 0)
		}
	}
	r, err := check.Friedman(y, treatment, block.Code)
	if err != nil {
		return a, "Friedman", err
	}
	same := (float64(overall) < alpha) == (r.P < alpha)
	return alternative("Friedman within "+block.Name, r, same, allTogether), "", nil
}
