package verdict

import (
	"fmt"
	"strings"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// interplay says whether the effects of the factors may be read one by one.
// With interactions in the model it names the real ones and compares each
// factor's levels with the others held; without, it tests whether leaving them
// out was fair.
func (s *subject) interplay(families []family) {
	if len(s.d.Treatments) < 2 || s.sigma2 == 0 {
		return
	}
	if !s.q.Interactions {
		s.leftOut()
		return
	}
	var found []string
	for _, row := range s.out.ANOVA {
		if strings.Contains(row.Term, ":") && row.P.Known() && float64(row.P) < s.q.Alpha {
			found = append(found, fmt.Sprintf("%s (p = %.2g)", row.Term, float64(row.P)))
		}
	}
	if len(found) == 0 {
		s.note("factors together", "no interaction is clear of chance: the effects of the factors look as if they add up")
		return
	}
	s.warn("factors together", "%s: the effect of one factor depends on the other, so a factor's effect must not be read alone; compare combinations, or one factor with the others held", strings.Join(found, ", "))
	for _, f := range families {
		s.simpleEffects(f)
	}
}

// leftOut tests the interactions of pairs of factors that the model leaves out.
func (s *subject) leftOut() {
	const name = "factors together"
	m := s.within
	m.Order = 2
	r, err := linmod.Fit(m, s.y)
	switch {
	case err != nil:
		s.pass(name, err)
	case r.DF == s.fit.DF:
		s.note(name, "not checked: the runs do not tell interactions apart")
	case r.DF == 0 || r.RSS == 0:
		s.note(name, "not checked: too few runs to tell interactions from noise")
	default:
		d1, d2 := float64(s.fit.DF-r.DF), float64(r.DF)
		f := (s.fit.RSS - r.RSS) / d1 / r.Sigma2
		p := law.F{D1: d1, D2: d2}.Survival(f)
		then := "judge again with interactions"
		if s.q.MainOnly {
			then = "what it is, beyond the sum, is counted as noise"
		}
		s.judgeCheck(name, f, p, "the effects of the factors look as if they add up",
			fmt.Sprintf("the effects of the factors do not add up (p = %.2g): the effect of one depends on the other; %s", p, then))
	}
}

// simpleEffects compares the levels of each factor with the others held: the
// pairs of combinations that differ in that factor only. All such comparisons of
// a factor are one family: all pairs in each slice, slices by Bonferroni.
func (s *subject) simpleEffects(f family) {
	for k, factor := range s.d.Treatments {
		fam := compare.Keep(compare.Slices{Family: compare.Pairs{Levels: max(2, len(factor.Levels))}, Count: max(1, len(f.labels)/len(factor.Levels))})
		for a, i := range f.live {
			for _, j := range f.live[a+1:] {
				if differOnlyIn(f.means.levels[i], f.means.levels[j], k) {
					s.simpleEffect(f, j, i, k, fam)
				}
			}
		}
	}
}

// simpleEffect compares two combinations that differ in factor k only.
func (s *subject) simpleEffect(f family, i, j, k int, fam compare.Family) {
	levels := s.d.Treatments[k].Levels
	c := SimpleEffect{At: s.held(f, i, k), Comparison: blank(f, i, j)}
	c.Factor = s.d.Treatments[k].Name
	c.Level, c.Against = levels[f.means.levels[i][k]], levels[f.means.levels[j][k]]
	if e := f.means.contrasts([][]float64{difference(len(f.labels), i, j)}); e.Estimable[0] {
		s.estimate(&c.Comparison, f, i, j, e, fam)
	}
	s.out.Simple = append(s.out.Simple, c)
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
func (s *subject) held(f family, mean, factor int) string {
	var parts []string
	for k, level := range f.means.levels[mean] {
		if k != factor {
			parts = append(parts, s.d.Treatments[k].Name+" "+s.d.Treatments[k].Levels[level])
		}
	}
	return strings.Join(parts, ", ")
}
