package verdict

import (
	"fmt"
	"slices"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// CrossingCheck begins the name of the check whether treatments do the same in every level of a
// block, which the block's name ends.
const CrossingCheck = "treatments by "

// crossing asks whether the treatments do the same in every level of a block.
type crossing struct {
	block  string
	cells  []linmod.Factor // treatments within the levels of the block
	f      float64
	d1, d2 float64
	p      float64
}

// levels counts the treatments within levels of the block.
func (c *crossing) levels() int {
	n := 0
	for _, f := range c.cells {
		n += len(f.Levels)
	}
	return n
}

// crossings tests, of every block that is a part of the noise and of every random factor
// whose levels hold several treatments, whether the effects of the treatments are the same in all
// its levels: the F test of adding their interaction to the model. It takes runs that are repeated
// within a level, and is left out without.
func (s *subject) crossings() {
	if s.sigma2 == 0 || s.d.Apart {
		return
	}
	for _, p := range s.crossable() {
		c := crossing{block: p.Name}
		for _, set := range s.interplaySets() {
			c.cells = append(c.cells, mixed.Nested(append([]linmod.Factor{p}, set...)...))
		}
		m := s.within
		m.Blocks = slices.Concat(m.Blocks, c.cells)
		r, err := linmod.Fit(m, s.y)
		if err != nil || r.DF == s.fit.DF || r.DF == 0 || !(r.Sigma2 > 0) {
			continue
		}
		c.d1, c.d2 = float64(s.fit.DF-r.DF), float64(r.DF)
		c.f = max(0, s.fit.RSS-r.RSS) / c.d1 / r.Sigma2
		c.p = law.F{D1: c.d1, D2: c.d2}.Survival(c.f)
		s.crossed = append(s.crossed, c)
	}
}

// crossable are the factors whose levels the treatments are compared within.
func (s *subject) crossable() []linmod.Factor {
	blocks := names(slices.Concat(s.d.Blocks, s.d.Recovered))
	out := slices.DeleteFunc(slices.Clone(s.d.Parts), func(p linmod.Factor) bool { return !slices.Contains(blocks, p.Name) })
	for _, p := range s.d.Random {
		constant := slices.ContainsFunc(s.d.Treatments, func(t linmod.Factor) bool { return s.meet(&p, &t) == constantWithin })
		if !constant && !slices.Contains(names(out), p.Name) {
			out = append(out, p)
		}
	}
	return out
}

// interplaySets are the sets of treatments whose effects the model holds.
func (s *subject) interplaySets() [][]linmod.Factor {
	if s.model.Order >= len(s.d.Treatments) {
		return [][]linmod.Factor{s.d.Treatments}
	}
	var sets [][]linmod.Factor
	for _, t := range s.d.Treatments {
		sets = append(sets, []linmod.Factor{t})
	}
	return sets
}

// alikeIn says whether the treatments do the same in every level of a block. Where they do
// not, comparisons judged by the noise within blocks are too bold for any other block, and
// those judged by how far the blocks agree are made beside them.
func (s *subject) alikeIn() {
	for i := range s.crossed {
		c := &s.crossed[i]
		treatments := listed(names(s.d.Treatments))
		name, alike := CrossingCheck+c.block, fmt.Sprintf("the effects of %s look the same in every %s", treatments, c.block)
		if len(s.d.Interplay) > 0 {
			message := alike
			if c.p < doubt {
				message = fmt.Sprintf("the effects of %s are not the same in every %s (p = %.2g); they are judged by how far units agree, which counts that in", treatments, c.block, c.p)
			}
			s.out.Checks = append(s.out.Checks, Check{Name: name, Statistic: Number(c.f), P: Number(c.p), Message: message})
			continue
		}
		bold := fmt.Sprintf("the comparisons hold for the %s tested, and are too bold for another; the alternative takes these as a sample", words.Plural(c.block))
		if slices.Contains(names(s.d.Random), c.block) {
			bold = fmt.Sprintf("the comparisons take them to be, and are too bold for any but the levels of %s tested; the alternative counts that in", c.block)
		}
		flag := s.judgeCheck(name, c.f, c.p, alike,
			fmt.Sprintf("the effects of %s are not the same in every %s (p = %.2g): %s", treatments, c.block, c.p, bold))
		if flag {
			s.asSample(c)
		}
	}
}

// asSample judges again with the levels of a block as a sample: how differently they answer
// is random, and each comparison is judged by how far they agree on it.
func (s *subject) asSample(c *crossing) {
	name := c.block + "s as a sample"
	other := *s
	other.d.Interplay = slices.Concat(s.d.Interplay, c.cells)
	other.families, other.links, other.asked = nil, nil, nil
	other.out = Response{}
	r, err := mixed.Fit(mixed.Model{Fixed: s.model, Random: other.d.random()}, s.y)
	if err != nil {
		s.pass(name, err)
		return
	}
	other.fitted, other.sigma2 = reml{r}, r.Sigma2
	other.families = other.gather()
	for i := range other.families {
		other.compare(i)
	}
	made, alike := 0, 0
	clear := func(c Comparison) bool { return c.Low > 0 || c.High < 0 }
	for i, a := range s.out.Comparisons {
		if i < len(other.out.Comparisons) && a.SE.Known() && other.out.Comparisons[i].SE.Known() {
			made++
			if clear(a) == clear(other.out.Comparisons[i]) {
				alike++
			}
		}
	}
	joint := r.Joint()
	s.out.Alternatives = append(s.out.Alternatives, Alternative{Name: name, Statistic: Number(joint.F), DF1: Number(joint.DF), DF2: Number(joint.DenDF),
		P: Number(joint.P), Survives: alike == made, Message: calledAlike(alike, made)})
}

// listed puts names into a sentence: "a", "a and b", "a, b and c", and of many only how many.
func listed(of []string) string {
	const many = 4
	switch n := len(of); {
	case n > many:
		return fmt.Sprintf("the %d factors", n)
	default:
		return words.And(of)
	}
}
