package verdict

import (
	"fmt"
	"slices"

	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// CrossingCheck begins the name of the check whether treatments do the same in every level of a
// block, which the block's name ends.
const CrossingCheck = "treatments by "

// crossing asks whether the treatments do the same in every level of a block.
type crossing struct {
	block string
	cells []linmod.Factor // treatments within the levels of the block
	f, p  float64
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
func crossings(d *Data, f *fit, y []float64) (out []crossing) {
	if f.variance == 0 || d.Apart {
		return nil
	}
	sets := eachAlone(d.Treatments)
	if f.model.Order >= len(d.Treatments) {
		sets = [][]linmod.Factor{d.Treatments}
	}
	for _, p := range crossable(d, y) {
		c := crossing{block: p.Name}
		for _, set := range sets {
			c.cells = append(c.cells, mixed.Crossed(append([]linmod.Factor{p}, set...)...))
		}
		m := f.within
		m.Blocks = slices.Concat(m.Blocks, c.cells)
		r, err := linmod.Fit(m, y)
		if err != nil || r.DF == f.squares.DF || r.DF == 0 || !(r.Sigma2 > 0) {
			continue
		}
		if c.f, c.p = extra(f.squares, r); c.f < 0 { // by rounding
			c.f, c.p = 0, 1
		}
		out = append(out, c)
	}
	return out
}

// crossable are the factors whose levels the treatments are compared within.
func crossable(d *Data, y []float64) []linmod.Factor {
	blocks := names(slices.Concat(d.Blocks, d.Recovered))
	out := slices.DeleteFunc(slices.Clone(d.Parts), func(p linmod.Factor) bool { return !slices.Contains(blocks, p.Name) })
	for _, p := range d.Random {
		constant := slices.ContainsFunc(d.Treatments, func(t linmod.Factor) bool { return mixed.Meet(&p, &t, y) == mixed.ConstantWithin })
		if !constant && !slices.Contains(names(out), p.Name) {
			out = append(out, p)
		}
	}
	return out
}

// alikeIn says whether the treatments do the same in every level of a block, and reports
// whether they do not where comparisons do not count that in.
func (c *crossing) alikeIn(d *Data, f *fit) (said remarks, bold bool) {
	treatments := listed(names(d.Treatments))
	name, alike := CrossingCheck+c.block, fmt.Sprintf("the effects of %s look the same in every %s", treatments, c.block)
	differ := fmt.Sprintf("the effects of %s are not the same in every %s (%s)", treatments, c.block, words.P(c.p))
	if by := f.agreed(d); by != "" {
		said.judge(name, c.f, c.p, alike, differ+"; they are judged by how far "+by+" agree, which counts that in")
		said[0].Flag = false
		return said, false
	}
	then := fmt.Sprintf("the comparisons hold for the %s tested, and are too bold for another; the alternative takes these as a sample", d.several(c.block))
	if slices.Contains(names(d.Random), c.block) {
		then = fmt.Sprintf("the comparisons take them to be, and are too bold for any but the %s tested; the alternative counts that in", d.several(c.block))
	}
	bold = said.judge(name, c.f, c.p, alike, differ+": "+then)
	return said, bold
}

// agreed names that whose agreement the treatments are judged by; "" when it is the noise from run to run.
func (f *fit) agreed(d *Data) string {
	switch {
	case f.cells != nil:
		return d.several(f.cells.Sample[0].Name)
	case len(f.interplay) > 0:
		return "specimens"
	}
	return ""
}

// asSample judges the comparisons again with the levels of a block as a sample: how differently they answer
// is random, and each comparison is judged by how far they agree on it.
func (c *crossing) asSample(d *Data, q *Request, f *fit, made []Comparison, t terms, y []float64) (a []Alternative, said remarks) {
	name := d.several(c.block) + " as a sample"
	r, err := mixed.Fit(mixed.Model{Fixed: f.model, Random: slices.Concat(f.random, c.cells)}, y)
	if err != nil {
		said.skip(name, err)
		return nil, said
	}
	by := yardstick{rule{q.Alpha, q.Looks, r.Sigma2 > 0, 1}, t, compare.NewSpread(reml{r}.sd())}
	families, _ := gather(reml{r}, d.Treatments, q)
	var again []Comparison
	laws, by := q.hold(families, len(d.Responses), by)
	for i, family := range families {
		compared, _ := comparisons(family, q, laws.of[i], by)
		again = append(again, compared.list...)
	}
	both, alike := 0, 0
	for i, a := range made {
		if i < len(again) && a.SE.Known() && again[i].SE.Known() {
			both++
			if clearOfZero(a) == clearOfZero(again[i]) {
				alike++
			}
		}
	}
	joint := r.Joint()
	return []Alternative{{Intervals: []AlternativeInterval{}, Name: name, Statistic: Number(joint.F), DF1: Number(joint.DF), DF2: Number(joint.DenDF),
		P: Number(joint.P), Survives: alike == both, Message: calledAlike(alike, both)}}, nil
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
