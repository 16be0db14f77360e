package size

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design"
	"fairrun/design/cost"
	"fairrun/design/question"
	"fairrun/stats/mixed"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// Allocation says how runs are best shared out over what they are made on (specimens, packs,
// whole plots) and repeats there, given how much either varies.
type Allocation struct {
	Factors       verdict.Factors `json:"factors"`  // whose levels are compared
	Item          string          `json:"item"`     // what is had several of: "motor", "pack", "whole plot"
	Several       string          `json:"-"`        // what these are called
	Within        string          `json:"within"`   // what each of these has several of; "" where it is runs
	SeveralWithin string          `json:"-"`        // what these are called
	Each          string          `json:"each"`     // what repeats count, in words
	Runs          int             `json:"runs"`     // that are shared out, at the most
	Alternatives  []Alternative   `json:"layouts"`  // fewest items first
	Sentence      string          `json:"sentence"` // what one more item does, and as many runs on the same ones
}

// Alternative is one way to share runs out.
type Alternative struct {
	Items   int            `json:"items"`   // of whole plots, those of each setting
	Within  int            `json:"within"`  // on each of these; 0 where it is runs
	Repeats int            `json:"repeats"` // runs of each level on the innermost item; in incomplete blocks, all its runs
	Runs    int            `json:"runs"`
	SE      verdict.Number `json:"se"`    // of a difference between two levels, in the terms of the margin
	DF      verdict.Number `json:"df"`    // of the verdict on it: few items have few
	Power   verdict.Number `json:"power"` // chance to find a true difference as large as the margin
	Hours   verdict.Number `json:"hours"` // null without a budget
}

// mostLayouts bounds the table.
const mostAlternatives = 12

// sharing is the noise of one family of comparisons, and what there is to share runs out over.
type sharing struct {
	plan   *design.Plan
	levels int
	runs   int     // to share out
	noise  float64 // variance from run to run
	in     terms
	unit   float64 // of the terms of the margin, in that of the noise
	margin float64 // on the scale of the noise
}

// shareOut shares runs out for the family whose differences owe most to anything but the
// run, without layouts where none does; nil where the runs cannot tell.
func shareOut(c *design.Plan, r *verdict.Response, runs int, in terms, unit float64) *Allocation {
	if runs == 0 {
		runs = c.Runs()
	}
	s := sharing{plan: c, runs: runs, in: in, unit: unit, margin: in.from(r.Margin.Value) * unit}
	d, parts := worstDifference(r)
	if d == nil {
		if out := s.incomplete(r); out != nil {
			return out
		}
		return nothingSeen(r, runs)
	}
	run := float64(d.Parts[len(d.Parts)-1].SD)
	s.levels, s.noise = d.Levels, run*run
	out := &Allocation{Factors: d.Factors, Item: parts[0].Item, Several: c.PluralOf(parts[0].Item), Each: "runs of each level on each", Runs: runs, Alternatives: []Alternative{}, Sentence: d.Advice}
	if len(parts) > 1 {
		out.Within, out.SeveralWithin, out.Each = parts[1].Item, c.PluralOf(parts[1].Item), "runs of each level in each"
	}
	out.Alternatives = s.alternatives(parts)
	return out
}

// nothingSeen says that what could differ is not seen to: runs count alike wherever they are made. nil where
// the runs cannot tell.
func nothingSeen(r *verdict.Response, runs int) *Allocation {
	for _, d := range r.Noise.Differences {
		return &Allocation{Factors: d.Factors, Item: d.Parts[len(d.Parts)-2].Item, Each: "runs of each level on each", Runs: runs, Alternatives: []Alternative{}, Sentence: d.Advice}
	}
	return nil
}

// worstDifference is the family whose differences owe most to parts of the noise other than
// the run, and those of its parts that are not zero, the coarsest two; nil where none is.
func worstDifference(r *verdict.Response) (worst *verdict.Difference, parts []verdict.DifferencePart) {
	most := 0.0
	for i := range r.Noise.Differences {
		d := &r.Noise.Differences[i]
		last := len(d.Parts) - 1
		if own := 1 - float64(d.Parts[last].Share); own > most {
			most, worst = own, d
		}
	}
	if worst == nil {
		return nil, nil
	}
	for _, p := range worst.Parts[:len(worst.Parts)-1] {
		if p.SD > 0 && len(parts) < 2 {
			parts = append(parts, p)
		}
	}
	return worst, parts
}

// alternatives are the ways to share the runs out over two items or more (one does not tell how much
// they vary), each with as many repeats as there are runs for.
func (s *sharing) alternatives(parts []verdict.DifferencePart) []Alternative {
	ask := mixed.Split{Treatments: s.levels}
	for _, p := range parts {
		ask.Sources = append(ask.Sources, mixed.Source{Name: p.Item, Variance: float64(p.SD * p.SD), Shared: p.Item != p.Name})
	}
	ask.Sources = append(ask.Sources, mixed.Source{Name: runPart, Variance: s.noise})
	most := s.runs
	if parts[len(parts)-1].Item == s.plan.Block.Name {
		most = s.lasts() / s.levels
	}
	out := []Alternative{}
	add := func(repeats int, items ...int) {
		l := ask.At(append(slices.Clone(items), repeats)...)
		layout := Alternative{Items: items[0], Repeats: repeats, Runs: l.Runs, SE: s.in.to(math.Sqrt(l.Variance) / s.unit), Hours: verdict.Unknown}
		if len(items) > 1 {
			layout.Within = items[1]
		}
		s.chance(&layout, l.Variance)
		if parts[len(parts)-1].Item == s.plan.Block.Name {
			layout.Hours = s.hours(items, repeats)
		}
		if n := len(out); n > 0 && out[n-1].Repeats == repeats && (len(items) == 1 || out[n-1].Items == layout.Items) {
			out[n-1] = layout // as many runs of each on fewer items leave runs unused
			return
		}
		out = append(out, layout)
	}
	for items := 2; items*s.levels <= s.runs; items++ {
		each := s.runs / (items * s.levels)
		if len(parts) == 1 {
			add(min(each, most), items)
			continue
		}
		if s.runs%(items*s.levels) != 0 {
			continue // of two things to choose, those that use every run are enough
		}
		for within := 1; within <= each; within++ {
			if each%within == 0 && each/within <= most {
				add(each/within, items, within)
			}
		}
	}
	return out[max(0, len(out)-mostAlternatives):]
}

// chance fills in what a layout finds, whose differences have some variance: the items, of which there are several, are what
// it is judged by (see [power.Precision.WithInterplay]).
func (s *sharing) chance(l *Alternative, variance float64) {
	groups := l.Items * max(1, l.Within)
	each := float64(groups * l.Repeats)
	runs := power.Precision{SE: math.Sqrt(2 / each), DF: each*float64(s.levels) - float64(groups) - float64(s.levels-1)}
	beyond := max(0, variance/s.noise-2/each) * float64(l.Items) / 2
	s.reach(l, runs.WithInterplay(l.Items, s.levels, math.Sqrt(beyond), 0))
}

// reach fills in what a precision finds, less what several looks cost.
func (s *sharing) reach(l *Alternative, p power.Precision) {
	l.DF, l.Power = verdict.Number(p.DF), verdict.Unknown
	p.SE *= math.Sqrt(question.Inflation(s.plan))
	ask := TestOf(s.plan, s.levels)
	if chance, err := ask.Power(s.margin, math.Sqrt(s.noise), p); err == nil {
		l.Power = verdict.Number(chance)
	}
}

// lasts is how many runs a block's supply lasts: any number where nothing runs out.
func (s *sharing) lasts() int {
	if s.plan.Budget == nil || s.plan.Budget.Supply == nil {
		return design.MaxRuns
	}
	return max(s.plan.DrawnPerBlock(), s.plan.Budget.Supply.Runs())
}

// hours is the time of so many blocks with so many replicates in each.
func (s *sharing) hours(items []int, repeats int) verdict.Number {
	plan := *s.plan
	plan.Block.Count = 1
	for _, n := range items {
		plan.Block.Count *= n
	}
	if plan.Block.Runs > 0 {
		plan.Block.Runs = repeats
	} else {
		plan.Block.Replicates = repeats * s.levels / max(1, len(plan.Treatments()))
	}
	if plan.Block.Runs+plan.Block.Replicates == 0 {
		return verdict.Unknown
	}
	if hours := cost.Of(&plan).Time.Hours(); hours > 0 {
		return verdict.Number(hours)
	}
	return verdict.Unknown
}

// differenceInBlocks is the variance of a difference between two of t treatments in b balanced blocks of k runs, in
// each of which the runs of any two differ by one at the most. With r = bk/t runs of each, ni of treatment i in a block,
// the variances σ² of runs and σb² of blocks, and
//
//	E = t (1 − Σ ni²/k²) / (t − 1),
//
// the share of what is known of a difference that lies within blocks, it is
//
//	2 / (r E/σ² + r (1 − E)/(σ² + k σb²))
//
// (Yates 1940, Annals of Eugenics 10: recovery of what lies between blocks). b and k may be broken.
func differenceInBlocks(t int, b, k, noise, between float64) float64 {
	n := float64(t)
	whole := math.Floor(k / n) // runs of every treatment; the rest of k have one more
	rest := k - whole*n
	squares := n*whole*whole + rest*(2*whole+1)
	within := n * (1 - squares/(k*k)) / (n - 1)
	return 2 * n / (b * k) / (within/noise + (1-within)/(noise+k*between))
}

// incomplete shares runs out over blocks that do not hold every treatment; nil where there are none,
// or several families are compared.
func (s *sharing) incomplete(r *verdict.Response) *Allocation {
	c := s.plan
	t := len(c.Treatments())
	if c.Block.Runs == 0 || len(c.Factors) > 1 && !c.Interactions || len(r.Comparisons) == 0 {
		return nil
	}
	var between float64
	for _, p := range r.Noise.Components {
		switch {
		case !p.SD.Known():
			return nil
		case p.Name == runPart:
			s.noise = float64(p.SD * p.SD)
		case p.Name == c.Block.Name:
			between = float64(p.SD * p.SD)
		}
	}
	if between == 0 || s.noise == 0 {
		return nil
	}
	variance := func(b, k float64) float64 { return differenceInBlocks(t, b, k, s.noise, between) }
	s.levels = t
	out := &Allocation{Factors: r.Comparisons[0].Factors, Item: c.Block.Name, Several: c.Block.Plural(), Each: "runs in each", Runs: s.runs, Alternatives: []Alternative{}}
	for k := 2; k <= min(t, s.lasts(), s.runs/2); k++ {
		b := s.runs / k
		l := Alternative{Items: b, Repeats: k, Runs: b * k,
			SE: s.in.to(math.Sqrt(variance(float64(b), float64(k))) / s.unit), Hours: s.hours([]int{b}, k)}
		s.reach(&l, power.Precision{SE: math.Sqrt(variance(float64(b), float64(k)) / s.noise), DF: float64(b*k - b - t + 1)})
		out.Alternatives = append(out.Alternatives, l)
	}
	out.Alternatives = out.Alternatives[max(0, len(out.Alternatives)-mostAlternatives):]
	slices.Reverse(out.Alternatives)
	b, k := float64(c.Block.Count), float64(c.Block.Runs)
	now := variance(b, k)
	lost := 1 - 2*s.noise/(b*k/float64(t))/now
	out.Sentence = fmt.Sprintf("%.0f %% of the variance of a difference is there because a %s does not hold every level: 1 more run in each of the %s (%s) takes %.0f %% of it away, as many runs in more %s %.0f %%",
		100*lost, c.Block.Name, c.Block.Plural(), words.Count(c.Block.Count, "run"), 100*(1-variance(b, k+1)/now), c.Block.Plural(), 100/(k+1))
	return out
}
