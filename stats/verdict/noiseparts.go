package verdict

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// runPart is the part of the noise that is from run to run.
const runPart = "run"

// mostCells bounds the levels of an interplay whose part of the noise is estimated: with more, its
// profile likelihood takes seconds. The test of it has no bound.
const mostCells = 150

// mostInterplays bounds in how many ways a block may answer: of a screen's fifteen factors, each
// with an interplay of its own, the runs tell nothing worth having.
const mostInterplays = 4

// inParts tells the noise in its parts. What the comparisons take out as fixed blocks is a part of
// it all the same, so the model is fitted once more with all of [Data.Parts] random, and with how
// differently blocks answer to the treatments where that is clear of chance. That fit serves for the
// parts alone: no comparison leans on it. Where a part comes out at zero it may have the runs agree better than
// the model of the comparisons does; runs that share nothing differ by no less than those alike all the same.
func (s *subject) inParts() {
	s.crossings()
	if s.sigma2 == 0 {
		return
	}
	r, random := s.partsFit()
	if r == nil {
		return
	}
	f := reml{r}
	n := f.noise(s.q.Alpha)
	s.out.Noise.Components, s.out.Noise.Reproducibility = n.Components, max(n.Reproducibility, s.out.Noise.Repeatability)
	s.sayScope()
	s.sayFixed()
	s.differences(r, random)
}

// partsFit is the model with every part random, and those: the model of the comparisons
// itself when that holds them all, nil when nothing is random.
func (s *subject) partsFit() (*mixed.Result, []linmod.Factor) {
	random := s.d.random()
	var more []linmod.Factor
	for _, p := range s.d.Parts {
		if !slices.Contains(names(random), p.Name) {
			more = append(more, p)
		}
	}
	for _, c := range s.crossed {
		// Whole plots are an interplay of blocks and treatments already.
		if c.p < doubt && len(s.d.Random) == 0 && c.levels() <= mostCells && len(c.cells) <= mostInterplays {
			more = append(more, c.cells...)
		}
	}
	if f, ok := s.fitted.(reml); ok && len(more) == 0 {
		return f.Result, random
	}
	if len(more) == 0 {
		return nil, nil
	}
	fixed := s.model
	fixed.Blocks = slices.DeleteFunc(slices.Clone(fixed.Blocks), func(b linmod.Factor) bool {
		return slices.ContainsFunc(s.d.Parts, func(p linmod.Factor) bool { return p.Name == b.Name })
	})
	return s.separable(mixed.Model{Fixed: fixed}, slices.Concat(more, random))
}

// separable fits a model with as many of the random factors as the runs can tell apart,
// the first ones first. A factor that groups the runs as one before it does is named.
func (s *subject) separable(m mixed.Model, random []linmod.Factor) (*mixed.Result, []linmod.Factor) {
	m.Random = random
	r, err := mixed.Fit(m, s.y)
	if err == nil {
		return r, random
	}
	m.Random, r = nil, nil
	for _, f := range random {
		with := m
		with.Random = append(slices.Clone(m.Random), f)
		fit, err := mixed.Fit(with, s.y)
		if err == nil {
			m, r = with, fit
			continue
		}
		if errors.Is(err, mixed.ErrSameGroups) {
			s.note("noise in parts", "%v: what differs between both is one part of the noise here", err)
		}
	}
	return r, m.Random
}

// sayScope says for what the verdict holds when something is random in the comparisons.
func (s *subject) sayScope() {
	if _, random := s.fitted.(reml); !random {
		return
	}
	for _, f := range s.d.Random {
		s.note("scope", "the comparisons hold for levels of %s like the %d tested, not for these alone: their differences count as noise", f.Name, s.used(&f))
	}
	for _, f := range s.d.Recovered {
		s.note("incomplete blocks", "levels that did not meet in one %s are compared by way of others and by the means of the %s, whose own differences count as noise (%s random)", f.Name, words.Plural(f.Name), f.Name)
	}
}

// used counts the levels of a factor that have a good run.
func (s *subject) used(f *linmod.Factor) int {
	seen := map[int32]bool{}
	for i, v := range s.y {
		if !math.IsNaN(v) && f.Code[i] >= 0 {
			seen[f.Code[i]] = true
		}
	}
	return len(seen)
}

// sayFixed says of the parts that the comparisons take out what they are good for.
func (s *subject) sayFixed() {
	var some, none []string
	for _, p := range s.d.Parts {
		k := slices.IndexFunc(s.out.Noise.Components, func(c Component) bool { return c.Name == p.Name })
		if k < 0 || slices.Contains(names(s.d.random()), p.Name) {
			continue
		}
		if c := s.out.Noise.Components[k]; c.SD > 0 {
			lies := "of"
			if some == nil {
				lies = "lies between levels of"
			}
			some = append(some, fmt.Sprintf("%.0f %% %s %s", 100*float64(c.Share), lies, p.Name))
		} else {
			none = append(none, p.Name)
		}
	}
	if some != nil {
		s.note("noise in parts", "of the variance between runs that share nothing %s: comparisons are made within each, so it costs them nothing; it is what the mean of a setting differs by from one to the next (reproducibility)",
			strings.Join(some, ", "))
	}
	if none != nil {
		s.note("noise in parts", "levels of %s differ by no more than runs make them", strings.Join(none, " and of "))
	}
}

// differences fills in what a difference between two levels is judged by, for every
// family, and says which part of it is worth attacking next.
func (s *subject) differences(r *mixed.Result, random []linmod.Factor) {
	sd := s.judgedBy(r)
	for _, set := range s.treatmentSets() {
		if d, ok := s.difference(sd, random, set); ok {
			s.out.Noise.Differences = append(s.out.Noise.Differences, d)
			if d.Advice != "" {
				s.note("noise in parts", "%s", d.Advice)
			}
		}
	}
	if len(s.out.Noise.Differences) == 0 && len(s.crossed) > 0 {
		s.sayRunAlone(s.crossed[0].block)
	}
}

// sayRunAlone says what more runs do where differences are judged by nothing but the noise between them.
func (s *subject) sayRunAlone(block string) {
	k := slices.IndexFunc(s.d.Parts, func(p linmod.Factor) bool { return p.Name == block })
	if k < 0 {
		return
	}
	blocks := s.used(&s.d.Parts[k])
	s.note("noise in parts", "differences between treatments are judged by the noise from run to run alone: 1 more %s (%s), or as many runs more on the same %s, takes %.0f %% of their variance away",
		block, words.Count(max(1, s.fit.N/blocks), "run"), several(block), 100/float64(blocks+1))
}

// judgedBy returns the standard deviations of the parts that differences are judged by, as
// the comparisons themselves take them where they hold them all; where blocks are seen to answer
// differently to the treatments, which comparisons within fixed blocks leave in the noise
// between runs, those of the fit with all parts.
func (s *subject) judgedBy(r *mixed.Result) map[string]float64 {
	sd := map[string]float64{}
	add := func(components []mixed.Component) {
		for _, c := range components {
			sd[c.Name] = c.SD
		}
	}
	add(r.Components)
	for _, c := range s.crossed {
		for _, f := range c.cells {
			if sd[f.Name] > 0 {
				return sd
			}
		}
	}
	if f, ok := s.fitted.(reml); ok {
		add(f.Components)
	} else {
		sd[residualPart] = math.Sqrt(s.sigma2)
	}
	return sd
}

// residualPart is what a mixed model calls the run.
const residualPart = "residual"

// treatmentSets are the sets of factors that are compared: all together with
// interactions, otherwise each; and those that are constant within the levels of something
// random while others are not, as settings of a whole plot are.
func (s *subject) treatmentSets() [][]linmod.Factor {
	if !s.q.Interactions || len(s.d.Treatments) < 2 {
		var sets [][]linmod.Factor
		for _, t := range s.d.Treatments {
			sets = append(sets, []linmod.Factor{t})
		}
		return sets
	}
	sets := [][]linmod.Factor{s.d.Treatments}
	for _, g := range s.d.Random {
		var constant []linmod.Factor
		for _, t := range s.d.Treatments {
			if s.meet(&g, &t) == constantWithin {
				constant = append(constant, t)
			}
		}
		if n := len(constant); n > 0 && n < len(s.d.Treatments) {
			sets = append(sets, constant)
		}
	}
	return sets
}

// meeting says how the levels of a treatment lie in those of a random factor.
type meeting int

const (
	partlyWithin   meeting = iota // some levels hold some treatments
	constantWithin                // each level holds one treatment: their differences are part of a comparison's noise
	completeWithin                // each level holds all: its own mean cancels in a comparison
)

// meet says how the levels of a treatment lie in those of a random factor.
func (s *subject) meet(g, t *linmod.Factor) meeting {
	held := make([][]bool, len(g.Levels))
	for i, v := range s.y {
		if math.IsNaN(v) || g.Code[i] < 0 || t.Code[i] < 0 {
			continue
		}
		if held[g.Code[i]] == nil {
			held[g.Code[i]] = make([]bool, len(t.Levels))
		}
		held[g.Code[i]][t.Code[i]] = true
	}
	constant, complete, levels := true, true, s.used(t)
	for _, h := range held {
		n := 0
		for _, in := range h {
			if in {
				n++
			}
		}
		if h != nil {
			constant, complete = constant && n == 1, complete && n == levels
		}
	}
	switch {
	case constant:
		return constantWithin
	case complete:
		return completeWithin
	}
	return partlyWithin
}

// difference says what the difference between two combinations of levels of some factors is
// judged by. With Gi levels of part i, each of one combination, L combinations and N runs,
//
//	variance = 2 (Σ σi² L/Gi + σ² L/N),
//
// which is exact in a balanced campaign. Parts that every combination meets in each of
// their levels cancel; what blocks add that do not hold every treatment is left out. It is
// not known where another random part meets some combinations only, and not of interest
// where nothing but the run counts.
func (s *subject) difference(sd map[string]float64, random, set []linmod.Factor) (Difference, bool) {
	t := mixed.Nested(set...)
	d := Difference{Factor: t.Name, Levels: s.used(&t), Parts: []DifferencePart{}}
	if d.Levels < 2 {
		return d, false
	}
	perLevel := func(n int) float64 { return float64(n) / float64(d.Levels) }
	total := 0.0
	add := func(name, item string, sd, items float64) {
		v := 2 * sd * sd / items
		total += v
		d.Parts = append(d.Parts, DifferencePart{Name: name, Item: item, SD: Number(sd), PerLevel: Number(items), Share: Number(v)})
	}
	for _, g := range random {
		if slices.Contains(names(s.model.Blocks), g.Name) {
			continue
		}
		switch s.meet(&g, &t) {
		case constantWithin:
			item, _ := strings.CutSuffix(g.Name, ":"+t.Name)
			add(g.Name, item, sd[g.Name], perLevel(s.used(&g)))
		case partlyWithin:
			if slices.Contains(names(s.d.Random), g.Name) {
				return d, false
			}
		}
	}
	if len(d.Parts) == 0 {
		return d, false
	}
	slices.SortStableFunc(d.Parts, func(a, b DifferencePart) int { return cmp.Compare(a.PerLevel, b.PerLevel) })
	add(runPart, runPart, sd[residualPart], perLevel(s.fit.N))
	d.SE = Number(math.Sqrt(total))
	for i := range d.Parts {
		d.Parts[i].Share /= Number(total)
	}
	d.Advice = d.advice(s.fit.N)
	return d, true
}

// advice says what one more of each part does to the variance of a difference, the coarsest first,
// and what as many runs as the last of these take do on what there is. What is within a part
// grows with it. A part that is not seen at all is left out.
func (d *Difference) advice(runs int) string {
	last := len(d.Parts) - 1
	var seen []DifferencePart
	var steps []string
	left := Number(1) // of the variance: what an item and all within it make up
	for _, p := range d.Parts[:last] {
		if p.Share > 0 {
			takes := ""
			if seen == nil {
				takes = "takes "
			}
			steps = append(steps, fmt.Sprintf("%s (%s) %s%.0f %%", p.another(), words.Count(p.each(runs), "run"), takes, 100*left/(p.PerLevel+1)))
			seen = append(seen, p)
		}
		left -= p.Share
	}
	if seen == nil {
		p := d.Parts[last-1]
		return fmt.Sprintf("nothing but run-to-run noise is seen in a difference between levels of %s: %s more, on the same %s or another, take %.0f %% of its variance away",
			d.Factor, words.Count(p.each(runs), "run"), several(p.Item), 100/(p.PerLevel+1))
	}
	steps[0] += " of it away"
	finest := seen[len(seen)-1]
	steps = append(steps, fmt.Sprintf("as many runs more on the same %s %.0f %%", several(finest.Item), 100*d.Parts[last].Share/(finest.PerLevel+1)))
	slices.SortStableFunc(seen, func(a, b DifferencePart) int { return cmp.Compare(b.Share, a.Share) })
	from := fmt.Sprintf("%.0f %% of the variance of a difference between levels of %s is from %s to %s", 100*seen[0].Share, d.Factor, seen[0].Item, seen[0].Item)
	for _, p := range seen[1:] {
		from += fmt.Sprintf(", %.0f %% from %s to %s", 100*p.Share, p.Item, p.Item)
	}
	return from + ": " + strings.Join(steps, ", ")
}

// another is one more of what averages the part out. What differs from setting to setting, as a whole
// plot does, takes one for each.
func (p *DifferencePart) another() string {
	switch {
	case strings.Contains(p.Item, ":"): // nested: each of its levels has a setting
		return "1 more level of " + p.Item
	case p.Item == p.Name:
		return "1 more " + p.Item + " of each setting"
	}
	return "1 more " + p.Item
}

// each is how many runs one item takes.
func (p *DifferencePart) each(runs int) int {
	return int(math.Round(float64(runs) / float64(p.PerLevel)))
}

// several is what more than one of an item are called: those of a nested factor are levels of it.
func several(item string) string {
	if strings.Contains(item, ":") {
		return "levels of " + item
	}
	return words.Plural(item)
}
