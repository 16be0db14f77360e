package verdict

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// treatmentSets are the sets of factors that are compared: all together with
// interactions, otherwise each; and those that are constant within the levels of something
// random while others are not, as settings of a whole plot are.
func treatmentSets(d *Data, interactions bool, y []float64) [][]linmod.Factor {
	if !interactions || len(d.Treatments) < 2 {
		return eachAlone(d.Treatments)
	}
	sets := [][]linmod.Factor{d.Treatments}
	for _, g := range d.Random {
		var constant []linmod.Factor
		for _, t := range d.Treatments {
			if mixed.Meet(&g, &t, y) == mixed.ConstantWithin {
				constant = append(constant, t)
			}
		}
		if n := len(constant); n > 0 && n < len(d.Treatments) {
			sets = append(sets, constant)
		}
	}
	return sets
}

// eachAlone is a set of each factor.
func eachAlone(factors []linmod.Factor) (sets [][]linmod.Factor) {
	for _, f := range factors {
		sets = append(sets, []linmod.Factor{f})
	}
	return sets
}

// judgedBy returns the standard deviations of the parts that differences are judged by, as
// the comparisons themselves take them where they hold them all; where blocks are seen to answer
// differently to the treatments, which comparisons within fixed blocks leave in the noise
// between runs, those of the fit with all parts.
func judgedBy(all *mixed.Result, f *fit, crossed []crossing) map[string]float64 {
	sd := map[string]float64{}
	add := func(components []mixed.Component) {
		for _, c := range components {
			sd[c.Name] = c.SD
		}
	}
	add(all.Components)
	for _, c := range crossed {
		if slices.ContainsFunc(c.cells, func(cell linmod.Factor) bool { return sd[cell.Name] > 0 }) {
			return sd
		}
	}
	if r, ok := f.estimator.(reml); ok {
		add(r.Components)
	} else {
		sd[residualPart] = math.Sqrt(f.variance)
	}
	return sd
}

// residualPart is what a mixed model calls the run.
const residualPart = "residual"

// runsAlone says what more runs do where differences are judged by nothing but the noise between them.
func runsAlone(block string, d *Data, runs int, y []float64) (said remarks) {
	k := slices.IndexFunc(d.Parts, func(p linmod.Factor) bool { return p.Name == block })
	if k < 0 {
		return nil
	}
	blocks := mixed.Used(&d.Parts[k], y)
	said.note(noiseInParts, "differences between treatments are judged by the noise from run to run alone: 1 more %s (%s), or as many runs more on the same %s, takes %.0f %% of their variance away",
		block, words.Count(max(1, runs/blocks), "run"), d.several(block), 100/float64(blocks+1))
	return said
}

// newDifference says what the difference between two combinations of levels of some factors is
// judged by. With Gi levels of part i, each of one combination, L combinations and N runs,
//
//	variance = 2 (Σ σi² L/Gi + σ² L/N),
//
// which is exact in a balanced campaign. Parts that every combination meets in each of
// their levels cancel; what blocks add that do not hold every treatment is left out. It is
// not known where another random part meets some combinations only, and not of interest
// where nothing but the run counts.
func newDifference(sd map[string]float64, random, set []linmod.Factor, data *Data, f *fit, y []float64) (Difference, bool) {
	t := mixed.Crossed(set...)
	d := Difference{Factors: names(set), Levels: mixed.Used(&t, y), Parts: []DifferencePart{}}
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
		if slices.Contains(names(f.model.Blocks), g.Name) {
			continue
		}
		switch mixed.Meet(&g, &t, y) {
		case mixed.ConstantWithin:
			add(g.Name, without(g.Name, t.Name), sd[g.Name], perLevel(mixed.Used(&g, y)))
		case mixed.PartlyWithin:
			if slices.Contains(names(data.Random), g.Name) {
				return d, false
			}
		}
	}
	if len(d.Parts) == 0 {
		return d, false
	}
	slices.SortStableFunc(d.Parts, func(a, b DifferencePart) int { return cmp.Compare(a.PerLevel, b.PerLevel) })
	add(runPart, runPart, sd[residualPart], perLevel(f.squares.N))
	d.SE = Number(math.Sqrt(total))
	for i := range d.Parts {
		d.Parts[i].Share /= Number(total)
	}
	d.Advice = d.advice(f.squares.N, data)
	return d, true
}

// advice says what one more of each part does to the variance of a difference, the coarsest first,
// and what as many runs as the last of these take do on what there is. What is within a part
// grows with it. A part that is not seen at all is left out.
func (d *Difference) advice(runs int, data *Data) string {
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
			d.Factors.Term(), words.Count(p.each(runs), "run"), data.several(p.Item), 100/(p.PerLevel+1))
	}
	steps[0] += " of it away"
	finest := seen[len(seen)-1]
	steps = append(steps, fmt.Sprintf("as many runs more on the same %s %.0f %%", data.several(finest.Item), 100*d.Parts[last].Share/(finest.PerLevel+1)))
	slices.SortStableFunc(seen, func(a, b DifferencePart) int { return cmp.Compare(b.Share, a.Share) })
	from := fmt.Sprintf("%.0f %% of the variance of a difference between levels of %s is from %s to %s", 100*seen[0].Share, d.Factors.Term(), seen[0].Item, seen[0].Item)
	for _, p := range seen[1:] {
		from += fmt.Sprintf(", %.0f %% from %s to %s", 100*p.Share, p.Item, p.Item)
	}
	return from + ": " + strings.Join(steps, ", ")
}

// another is one more of what averages the part out. What differs from setting to setting, as a whole
// plot does, takes one for each.
func (p *DifferencePart) another() string {
	switch {
	case strings.Contains(p.Item, times): // each of its levels has a setting
		return "1 more level of " + p.Item
	case strings.Contains(p.Item, within):
		return "1 more " + p.Item
	case p.Item == p.Name:
		return "1 more " + p.Item + " of each setting"
	}
	return "1 more " + p.Item
}

// each is how many runs one item takes.
func (p *DifferencePart) each(runs int) int {
	return int(math.Round(float64(runs) / float64(p.PerLevel)))
}

// several is what more than one of an item are called.
func (d *Data) several(item string) string {
	if strings.Contains(item, times) {
		return "levels of " + item
	}
	if inner, outer, nested := strings.Cut(item, within); nested {
		return d.several(inner) + within + outer
	}
	if plural := d.Plurals[item]; plural != "" {
		return plural
	}
	return words.Plural(item)
}

// How factors made of several are named: the treatments times the specimens, or one within the other.
const (
	times  = " × "
	within = " within "
)

// without takes the name of the treatments out of that of a factor whose levels hold one each.
func without(name, treatments string) string {
	if outer, ok := strings.CutPrefix(name, treatments+within); ok {
		return outer
	}
	return strings.TrimSuffix(name, times+treatments)
}
