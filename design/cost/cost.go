package cost

import (
	"fairrun/design"
	"math"
	"slices"
	"time"
)

// Cost is what a campaign takes. Time and Lasts need a budget in the plan and are zero without.
type Cost struct {
	Runs   int
	Blocks int           // packs, sessions
	Lasts  int           // runs the supply of one block would last; 0 when nothing runs out
	Time   time.Duration // expected at the bench, from the first run's start to the last run's end; what lies between sessions is not counted

	Sessions int           // days; 0 when the plan has none
	Longest  time.Duration // expected time of the longest session; 0 without sessions or budget
}

// Of returns what the plan takes, before anything is drawn.
//
// With run time u, rest s, swap w and C the changeover times, added up, of the factors that differ
// between two neighbours, the time of n runs in b blocks of k is
//
//	n u + b Σ E[max(s, C)] + (b-1) E[max(s, w + C)],   Σ over the k-1 neighbours within a block,
//
// since changing a setting or a pack takes place while the thing under test rests; each session has its
// own n and b. The expectations are over all orders alike: neighbours within a block are any two of its
// drawn runs (in an incomplete block, any two treatments; with whole plots, two of one, or one of each
// of two), or a drawn run and the baseline, and across blocks any two treatments, the same one too. That
// the order may balance neighbours is left out of account. A fold-over with blocks of its own changes as much
// within them as the others do, treatments differing in what their mirror images differ in.
func Of(c *design.Plan) Cost {
	cost := Cost{Runs: c.Runs(), Blocks: c.Block.Count, Sessions: c.Session.Count(c.Block.Count)}
	if c.Budget == nil {
		return cost
	}
	if c.Budget.Supply != nil {
		cost.Lasts = c.Budget.Supply.Runs()
	}
	cost.Time, cost.Longest = paceOf(c).takes(c.Session, c.Block.Count)
	return cost
}

// pace is the expected time of a block, and of the pause between two of one session, in nanoseconds.
type pace struct{ block, between float64 }

// takes returns the expected time of so many blocks, and of the longest session, 0 without sessions.
func (p pace) takes(s *design.Session, blocks int) (all, longest time.Duration) {
	together := func(blocks int) time.Duration {
		total := float64(blocks)*p.block + float64(blocks-1)*p.between
		return time.Duration(math.Round(total/float64(time.Second))) * time.Second
	}
	if s == nil {
		return together(blocks), 0
	}
	longest = together(min(s.Blocks, blocks))
	all = time.Duration(blocks/s.Blocks) * together(s.Blocks)
	if rest := blocks % s.Blocks; rest > 0 {
		all += together(rest)
	}
	return all, longest
}

// paceOf returns the pace of a plan with a budget.
func paceOf(c *design.Plan) pace {
	b := c.Budget
	groups := changeGroups(c)
	one, inBlock := oneBlock(c), groups
	if one != c {
		inBlock = changeGroups(one)
	}
	base := baselineGroup(c, groups)
	drawn, mixed := neighbours(c)
	rest, swap := float64(b.Rest), float64(b.Swap)
	within := float64(c.RunsPerBlock()-1) * rest
	first, last := ends(c) // whether the first and the last run of a block are drawn
	across := max(rest, swap)
	for i, g := range groups {
		if base >= 0 {
			apart := apart(b, g.levels, groups[base].levels)
			within += mixed * atEnd(c, g) * (max(rest, apart) - rest)
			if first != last {
				across += atEnd(c, g) * (max(rest, swap+apart) - max(rest, swap))
			}
		}
		for _, h := range groups[:i] {
			if first && last {
				apart := apart(b, g.levels, h.levels)
				across += 2 * atEnd(c, g) * atEnd(c, h) * (max(rest, swap+apart) - max(rest, swap))
			}
		}
	}
	for i, g := range inBlock {
		for _, h := range inBlock[:i] {
			within += drawn * meet(one, g, h) * (max(rest, apart(b, g.levels, h.levels)) - rest)
		}
	}
	return pace{float64(c.RunsPerBlock())*float64(b.Run) + within, across}
}

// oneBlock returns a plan whose treatments are those of one block: c itself, but where the fold-over
// has blocks of its own.
func oneBlock(c *design.Plan) *design.Plan {
	if !c.FoldedApart() {
		return c
	}
	part := *c
	part.Chosen, part.Order.Screen = c.Chosen[:c.TreatmentsPerBlock()], nil
	return &part
}

// apart returns the time it takes to change from one set of levels to another, both by Changeover.
func apart(b *design.Budget, g, h []int) float64 {
	apart := 0.0
	for f := range g {
		if g[f] != h[f] {
			apart += float64(b.Changeover[f].Time)
		}
	}
	return apart
}

// fixedAt reports of each position of a block whether the baseline stands there by rule.
func fixedAt(c *design.Plan) []bool {
	fixed := make([]bool, c.RunsPerBlock())
	for i := range min(c.Order.Warmup, len(fixed)) {
		fixed[i] = true
	}
	for _, p := range c.Order.Reference {
		fixed[p-1] = true
	}
	return fixed
}

// neighbours returns how many neighbours within a block are two drawn runs, and how many a drawn run
// and the baseline at a fixed place.
func neighbours(c *design.Plan) (drawn, mixed float64) {
	fixed := fixedAt(c)
	for i := range fixed[1:] {
		switch {
		case !fixed[i] && !fixed[i+1]:
			drawn++
		case fixed[i] != fixed[i+1]:
			mixed++
		}
	}
	return drawn, mixed
}

// ends reports whether the first and the last run of a block are drawn.
func ends(c *design.Plan) (first, last bool) {
	fixed := fixedAt(c)
	return !fixed[0], !fixed[len(fixed)-1]
}

// meet returns the chance that two drawn neighbours within a block are of the two groups given, in
// either order. With whole plots of n runs, S of them in the k drawn runs of a block, of the k-1
// neighbours n-1 lie within each whole plot and S-1 join two different ones. In an incomplete block
// settings are met in proportion to their treatments within whole plots, and any two alike between.
func meet(c *design.Plan, g, h changeGroup) float64 {
	pairs := 2 * float64(g.treatments) * float64(h.treatments)
	t, k, r := float64(c.CountTreatments()), float64(c.DrawnPerBlock()), float64(c.Block.Replicates)
	switch {
	case r == 0 && g.plots > 0:
		w := float64(g.perBlock)
		if g.plot == h.plot {
			return (k - w) / (k - 1) * pairs / t / float64(g.plotRuns-1)
		}
		settings := float64(g.plots)
		return (w - 1) / (k - 1) * pairs / (settings * (settings - 1)) / float64(g.plotRuns*h.plotRuns)
	case r == 0:
		return pairs / (t * (t - 1))
	case g.plots == 0:
		return pairs * r * r / (k * (k - 1))
	case g.plot == h.plot:
		return pairs * r * r / float64(g.plotRuns) / (k - 1)
	}
	return pairs * r * r / (float64(g.plots) * float64(g.plotRuns) * float64(h.plotRuns)) / (k - 1)
}

// atEnd returns the chance that the first or last drawn run of a block is of a group.
func atEnd(c *design.Plan, g changeGroup) float64 {
	if g.plots > 0 && c.Block.Replicates > 0 {
		return float64(g.treatments*c.Block.Replicates) / float64(g.plots*g.plotRuns)
	}
	return float64(g.treatments) / float64(c.CountTreatments())
}

// changeGroup is the treatments that agree in every factor that takes time to change and, with whole
// plots, in the setting of those that are hard to change.
type changeGroup struct {
	levels         []int // by Changeover
	treatments     int
	plot, plotRuns int // which whole plot, and its runs; in an incomplete block, its treatments
	plots          int // whole plots that differ; 0 without
	perBlock       int // whole plots of an incomplete block
}

func changeGroups(c *design.Plan) []changeGroup {
	factors, plots := changing(c), c.WholePlots()
	var groups []changeGroup
	seen := map[string]int{}
	runs := make([]int, len(plots)) // of each whole plot
	for t, treatment := range c.Treatments() {
		levels := make([]int, len(factors))
		key := make([]byte, 0, 2*len(factors)+2)
		for i, f := range factors {
			levels[i] = slices.Index(c.Factors[f].Levels, treatment.Levels[f])
			key = append(key, byte(levels[i]), byte(levels[i]>>8))
		}
		plot := 0
		if plots != nil {
			plot = plots[t]
			runs[plot] += max(1, c.Block.Replicates)
			key = append(key, byte(plot), byte(plot>>8))
		}
		i, known := seen[string(key)]
		if !known {
			i = len(groups)
			seen[string(key)] = i
			groups = append(groups, changeGroup{levels: levels, plot: plot})
		}
		groups[i].treatments++
	}
	perBlock := Spec(c).PlotsPerBlock()
	for i := range groups {
		if plots != nil {
			groups[i].plots, groups[i].plotRuns = slices.Max(plots)+1, runs[groups[i].plot]
			groups[i].perBlock = perBlock
		}
	}
	return groups
}

// baselineGroup returns the group that the runs at fixed places are of; -1 when there are none.
func baselineGroup(c *design.Plan, groups []changeGroup) int {
	if c.Order.Fixed() == 0 {
		return -1
	}
	factors := changing(c)
	return slices.IndexFunc(groups, func(g changeGroup) bool {
		for i, f := range factors {
			if c.Factors[f].Levels[g.levels[i]] != c.Factors[f].Baseline {
				return false
			}
		}
		return true
	})
}

// changing returns the indexes of the factors that take time to change, by Changeover.
func changing(c *design.Plan) []int {
	var factors []int
	for _, change := range c.Budget.Changeover {
		factors = append(factors, slices.IndexFunc(c.Factors, func(f design.Factor) bool { return f.Name == change.Factor }))
	}
	return factors
}

// BenchTime returns the time an order takes at the bench, by the rule of Of: blocks holds, block
// by block, the indexes into Treatments in run order. It is zero without a budget.
func BenchTime(c *design.Plan, blocks [][]int) time.Duration {
	var total time.Duration
	for _, t := range SessionTimes(c, blocks) {
		total += t
	}
	return total
}

// SessionTimes is BenchTime session by session, of which a plan without sessions has one; nil without
// a budget.
func SessionTimes(c *design.Plan, blocks [][]int) []time.Duration {
	if c.Budget == nil {
		return nil
	}
	b := c.Budget
	factors, treatments := changing(c), c.Treatments()
	var times []time.Duration
	last := -1
	for k, block := range blocks {
		if k == 0 || c.Session.Of(k+1) != c.Session.Of(k) {
			times, last = append(times, 0), -1
		}
		total := &times[len(times)-1]
		for i, t := range block {
			if last >= 0 {
				var hands time.Duration
				for j, f := range factors {
					if treatments[t].Levels[f] != treatments[last].Levels[f] {
						hands += b.Changeover[j].Time
					}
				}
				if i == 0 {
					hands += b.Swap
				}
				*total += max(b.Rest, hands)
			}
			*total += b.Run
			last = t
		}
	}
	return times
}
