package order

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
func (p Spec) PlotNoise() bool { return p.kind().model().Plots != nil }

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
