package order

import "slices"

// wholePlotRuns returns the number of runs of each whole plot of a block.
func wholePlotRuns(p Plan) []int {
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
	for at := 0; at < len(flat); at += n {
		changes := 0
		block := flat[at : at+n]
		for i := range block[1:] {
			if s.plan.WholePlots[block[i]] != s.plan.WholePlots[block[i+1]] {
				changes++
			}
		}
		if changes != len(s.plots)-1 {
			return false
		}
	}
	return true
}

// shuffleWholePlots puts the runs of a block, sorted by whole plot, into random order: the whole
// plots, and the runs within each. tmp has room for a block, turn for its whole plots.
func (s *stage) shuffleWholePlots(src *Source, block, tmp []int32, turn []int) {
	turn = turn[:len(s.plots)]
	at := 0
	for i, n := range s.plots {
		Shuffle(src, block[at:at+n])
		turn[i] = i
		at += n
	}
	Shuffle(src, turn)
	copy(tmp, block)
	to := 0
	for _, plot := range turn {
		from := 0
		for _, n := range s.plots[:plot] {
			from += n
		}
		to += copy(block[to:], tmp[from:from+s.plots[plot]])
	}
}

// Stratum is a level at which treatments are compared, with what it rests on.
type Stratum struct {
	Name       string `json:"name"`       // "whole plots" or "runs"
	Settings   int    `json:"settings"`   // what is compared there: settings of the hard-to-change factors, or treatments
	Replicates int    `json:"replicates"` // independent units of each of them
	DF         int    `json:"df"`         // degrees of freedom for the noise between such units
}

// Strata returns the levels at which all blocks of an order compare treatments, as Plan.Strata does.
//
// In an order of two parts with whole plots, S settings stand in B blocks of s whole plots each: one
// of each setting of the block's part. The parts compare s−1 settings each, together S−1 where they
// have a setting in common and otherwise S−2, so B(s−1) less that is left for the noise.
func (d *Drawn) Strata() []Stratum {
	p := d.Whole()
	if d.Fold == nil || p.WholePlots == nil {
		return p.Strata()
	}
	settings := slices.Max(p.WholePlots) + 1
	each := len(wholePlotRuns(d.Plan))
	compared := settings - 1
	shared := func(t int) bool {
		return slices.Contains(p.WholePlots[:d.Plan.Treatments], p.WholePlots[t])
	}
	if !slices.ContainsFunc(d.Fold.Treatments, shared) {
		compared--
	}
	whole := Stratum{"whole plots", settings, p.Blocks * each / settings, p.Blocks*(each-1) - compared}
	df := p.runs() - p.Blocks*each - (p.Treatments - settings) - p.driftTerms()
	return []Stratum{whole, {"runs", p.Treatments, p.runs() / p.Treatments, max(0, df)}}
}

// Strata returns the levels at which a plan compares treatments. Without whole plots it is the runs
// alone. With them, settings of the hard-to-change factors are compared between whole plots, of
// which there is one for each setting in each block however many runs it holds; differences within
// a setting are compared between runs. Drift terms are counted with the runs.
func (p Plan) Strata() []Stratum {
	runs := p.runs() + p.Blocks*len(p.Reference)
	replicates := p.runs() / p.Treatments
	if p.WholePlots == nil {
		return []Stratum{{"runs", p.Treatments, replicates, runs - p.parameters()}}
	}
	settings := len(wholePlotRuns(p))
	whole := Stratum{"whole plots", settings, p.Blocks, (p.Blocks - 1) * (settings - 1)}
	// Below block × setting means: treatments within settings, and drift.
	df := runs - p.Blocks*settings - (p.Treatments - settings) - p.driftTerms()
	return []Stratum{whole, {"runs", p.Treatments, replicates, max(0, df)}}
}
