package order

import (
	"maps"
	"slices"

	"fairrun/design/blocks"
	"fairrun/design/internal/information"
	"fairrun/design/lot"
)

// wholePlotRuns returns the number of runs of each whole plot of a block.
func wholePlotRuns(p Spec) []int {
	var runs []int
	for _, s := range p.WholePlots {
		for len(runs) <= s {
			runs = append(runs, 0)
		}
		runs[s] += p.Replicates
	}
	return runs
}

// together reports whether the runs of each whole plot stand together in every block.
func (s *stage) together(flat []int32) bool {
	n := s.plan.runsPerBlock()
	seen := make([]int, s.plan.Treatments) // block, from 1, in which a setting was met last
	for at := 0; at < len(flat); at += n {
		block := flat[at : at+n]
		for from := range information.WholePlots(s.plan.WholePlots, block) {
			h := s.plan.WholePlots[block[from]]
			if seen[h] == at/n+1 {
				return false
			}
			seen[h] = at/n + 1
		}
	}
	return true
}

// shuffleWholePlots puts the runs of a block, in whole plots of so many runs, into random order: the
// whole plots, and the runs within each. tmp has room for a block, turn for its whole plots.
func (s *stage) shuffleWholePlots(src *lot.Stream, block []int32, plots []int, tmp []int32, turn []int) {
	turn = turn[:len(plots)]
	at := 0
	for i, n := range plots {
		lot.Shuffle(src, block[at:at+n])
		turn[i] = i
		at += n
	}
	lot.Shuffle(src, turn)
	copy(tmp, block)
	to := 0
	for _, plot := range turn {
		from := 0
		for _, n := range plots[:plot] {
			from += n
		}
		to += copy(block[to:], tmp[from:from+plots[plot]])
	}
}

// fixedWithin reports whether a stage of whole plots keeps the runs of its design in their order:
// where positions or neighbours are what is balanced.
func (s *stage) fixedWithin() bool { return s.plan.Drift == Position || s.plan.CarryOver }

// plotLength returns the number of runs of all whole plots of a design, 0 if they differ.
func plotLength(p Spec, design [][]int) int {
	k := 0
	for _, block := range design {
		for from, to := range information.WholePlots(p.WholePlots, block) {
			if k > 0 && to-from != k {
				return 0
			}
			k = to - from
		}
	}
	return k
}

// splitOrders returns the number of orders of blocks of whole plots that a stage draws: at least so
// many where names or positions are exchanged.
func (s *stage) splitOrders(n int) lot.Count {
	if s.fixedWithin() {
		return s.exchanges()
	}
	p := s.plan
	c := s.blockOrders(n).Log10
	same := map[string]int{}
	for _, block := range split(s.first, p.runsPerBlock())[s.from:][:n] {
		plots := 0
		for from, to := range information.WholePlots(p.WholePlots, block) {
			plots++
			c += lot.Factorial(to - from).Log10
			times := map[int]int{}
			for _, t := range block[from:to] {
				times[t]++
			}
			for _, k := range slices.Sorted(maps.Values(times)) {
				c -= lot.Factorial(k).Log10
			}
		}
		c += lot.Factorial(plots).Log10
		held := slices.Clone(block)
		slices.Sort(held)
		same[blocks.Key(held)]++
	}
	for _, k := range slices.Sorted(maps.Values(same)) {
		c -= lot.Factorial(k).Log10
	}
	return lot.Count{Log10: lot.RoundLog(c)}
}

// Stratum is a level at which treatments are compared, with what it rests on.
type Stratum struct {
	Name       string `json:"name"`       // "whole plots" or "runs"
	Settings   int    `json:"settings"`   // what is compared there: settings of the hard-to-change factors, or treatments
	Replicates int    `json:"replicates"` // independent units of each of them
	DF         int    `json:"df"`         // degrees of freedom for the noise between such units
}

// Strata returns the levels at which all blocks of an order compare treatments, as Spec.Strata does
// for a plan. Blocks of two parts hold as many whole plots as those of the first.
func (d *Drawn) Strata() []Stratum { return d.Whole().strata(d.Plan.plotsPerBlock()) }

// PlotsPerBlock returns the number of whole plots of a block, 0 for a plan without.
func (p Spec) PlotsPerBlock() int {
	if p.WholePlots == nil {
		return 0
	}
	return p.plotsPerBlock()
}

// PlotNoise reports whether the efficiencies of an order take whole plots to vary as much as runs do. In complete blocks
// whose whole plots and runs are merely shuffled they take every run to be set up for itself.
func (p Spec) PlotNoise() bool { return p.kind() == kindSplit }

// Strata returns the levels at which a plan compares treatments. Without whole plots it is the runs
// alone. With them, settings of the hard-to-change factors are compared between whole plots, of
// which a block holds each of its settings once however many runs that has; differences within a
// setting are compared between runs. Replicates are the least number of units that all settings
// have. Degrees of freedom are those of the model: of Effects where there are any. Linear and
// quadratic drift is counted with the runs, drift over the positions with either.
func (p Spec) Strata() []Stratum { return p.strata(p.plotsPerBlock()) }

// strata is Strata for blocks of so many whole plots.
func (p Spec) strata(w int) []Stratum {
	runs := p.runs() + p.Blocks*len(p.Reference)
	replicates := p.runs() / p.Treatments
	if p.WholePlots == nil {
		return []Stratum{{"runs", p.Treatments, replicates, runs - p.parameters()}}
	}
	settings := len(p.settings())
	easy := p.withinSettings()
	hard := p.comparisons() - easy
	plots, drift := p.Blocks*w, p.driftTerms()
	whole := Stratum{"whole plots", settings, plots / settings, plots - p.Blocks - hard}
	if p.Drift == Position {
		whole.DF -= w - 1
		drift -= w - 1
	}
	whole.DF = max(0, whole.DF)
	return []Stratum{whole, {"runs", p.Treatments, replicates, max(0, runs-plots-easy-drift)}}
}

// withinSettings returns the number of independent comparisons that are not between settings of the
// hard-to-change factors alone.
func (p Spec) withinSettings() int {
	if p.Effects == nil {
		return p.Treatments - len(p.settings())
	}
	q := p
	q.Effects = make([][]float64, p.Treatments)
	for _, s := range p.settings() {
		for _, t := range s {
			q.Effects[t] = make([]float64, len(p.Effects[t]))
			for j := range q.Effects[t] {
				var sum float64 // divided last, so that a column that is the same throughout leaves nothing
				for _, u := range s {
					sum += p.Effects[u][j]
				}
				q.Effects[t][j] = p.Effects[t][j] - sum/float64(len(s))
			}
		}
	}
	_, side := q.basis()
	return side
}
