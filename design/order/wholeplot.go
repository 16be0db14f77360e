package order

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
