package verdict

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/words"
)

// alternatives makes the tests that lean on less than the model does, when the
// checks cast doubt on it, and says whether they call the same differences
// clear of zero.
//
// Where the model has blocks or covariates, Welch's and the rank tests are made
// on aligned responses (what blocks and covariates account for taken out,
// Hodges & Lehmann 1962), which makes their levels approximate.
func (s *subject) alternatives(e []float64, d doubts) {
	if !d.shape && !d.spread {
		return
	}
	groups, names := s.aligned(e)
	if len(groups) < 2 {
		return
	}
	if d.spread {
		s.welch(groups, names)
	}
	if d.shape {
		s.ranks(groups, names)
		if len(s.d.Blocks) == 1 {
			s.friedman()
		}
	}
}

// aligned gathers the responses by treatment with blocks and covariates taken
// out: the treatment's fitted mean plus the residual.
func (s *subject) aligned(e []float64) (groups [][]float64, names []string) {
	all := make([]int, len(s.d.Treatments))
	for i := range all {
		all[i] = i
	}
	means, err := s.fit.Means(all...)
	if err != nil {
		return nil, nil
	}
	estimates := means.All()
	groups = make([][]float64, len(means.Levels))
	for i, v := range e {
		if math.IsNaN(v) {
			continue
		}
		k := 0
		for _, f := range s.d.Treatments {
			k = k*len(f.Levels) + int(f.Code[i])
		}
		groups[k] = append(groups[k], estimates.Value[k]+v)
	}
	joinTies(groups)
	kept := groups[:0]
	for k, g := range groups {
		if len(g) > 0 && estimates.Estimable[k] {
			kept = append(kept, g)
			names = append(names, s.label(all, means.Levels[k]))
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

// clear tells which pairs of treatments the model's own comparisons call clear
// of zero. Only comparisons of treatments with each other can be held against
// an alternative, and of one-sided ones those in the direction that is asked about.
func (s *subject) clear() map[[2]string]bool {
	out := map[[2]string]bool{}
	for _, c := range s.out.Comparisons {
		if s.q.OneSided && s.sign()*float64(c.Estimate) < 0 {
			continue
		}
		out[[2]string{c.Level, c.Against}] = c.Low > 0 || c.High < 0
	}
	return out
}

// survives holds the pairs of an alternative against the model's. It says how
// many of the pairs that both make are called alike.
func (s *subject) survives(names []string, pairs []pair) (bool, string) {
	model := s.clear()
	alike, made := 0, 0
	for _, p := range pairs {
		for _, key := range [][2]string{{names[p.i], names[p.j]}, {names[p.j], names[p.i]}} {
			if clear, ok := model[key]; ok {
				made++
				if clear == p.clear {
					alike++
				}
			}
		}
	}
	if made == 0 {
		return true, "it is a test of all treatments together"
	}
	return alike == made, calledAlike(alike, made)
}

// calledAlike says how many of some comparisons an alternative calls as the model does.
func calledAlike(alike, of int) string {
	return fmt.Sprintf("%d of %s %s called alike", alike, words.Count(of, "comparison"), words.Agree(of, "is", "are"))
}

// pair is what an alternative says of two treatments.
type pair struct {
	i, j  int
	clear bool
}

func (s *subject) addAlternative(name string, r check.Result, survives bool, message string) {
	a := Alternative{Name: name, Statistic: Number(r.Statistic), DF1: Number(r.DF1), DF2: Unknown, P: Number(r.P), Survives: survives, Message: message}
	if r.DF2 > 0 {
		a.DF2 = Number(r.DF2)
	}
	s.out.Alternatives = append(s.out.Alternatives, a)
}

// welch makes Welch's test and Games & Howell's pairs.
func (s *subject) welch(groups [][]float64, names []string) {
	r, err := check.Welch(groups)
	if err != nil {
		s.pass("Welch's test", err)
		return
	}
	made, err := check.GamesHowell(groups, s.q.Alpha)
	if err != nil {
		s.pass("Games-Howell", err)
		return
	}
	var pairs []pair
	for _, m := range made {
		pairs = append(pairs, pair{m.Level, m.Against, m.Low > 0 || m.High < 0})
	}
	ok, message := s.survives(names, pairs)
	s.addAlternative("Welch with Games-Howell", r, ok, message)
}

// ranks makes Kruskal & Wallis's test and Dunn's pairs.
func (s *subject) ranks(groups [][]float64, names []string) {
	r, err := check.KruskalWallis(groups)
	if err != nil {
		s.pass("Kruskal-Wallis", err)
		return
	}
	made, err := check.Dunn(groups)
	if err != nil {
		s.pass("Dunn", err)
		return
	}
	var pairs []pair
	for _, m := range made {
		pairs = append(pairs, pair{m.Level, m.Against, m.Adjusted < s.q.Alpha})
	}
	ok, message := s.survives(names, pairs)
	s.addAlternative("Kruskal-Wallis with Dunn", r, ok, message)
}

// friedman makes the rank test within blocks of all treatments together.
func (s *subject) friedman() {
	treatment := make([]int32, len(s.y))
	for i := range treatment {
		for _, f := range s.d.Treatments {
			treatment[i] = treatment[i]*int32(len(f.Levels)) + max(f.Code[i], 0)
		}
	}
	r, err := check.Friedman(s.y, treatment, s.d.Blocks[0].Code)
	if err != nil {
		s.pass("Friedman", err)
		return
	}
	same := (float64(s.out.Overall.P) < s.q.Alpha) == (r.P < s.q.Alpha)
	s.addAlternative("Friedman within "+s.d.Blocks[0].Name, r, same, "it is a test of all treatments together")
}
