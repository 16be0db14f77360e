package order

import (
	"fairrun/design/blocks"
	"fairrun/design/internal/information"
	"fairrun/design/order/internal/loss"
)

// Version names the rule by which a plan and a seed become an order. It changes whenever
// any plan's order would.
const Version = 1

// DriftModel is the drift that is fitted beside the treatments and kept apart from them.
// The empty model is None.
type DriftModel string

const (
	None      DriftModel = "none"      // no drift within a block
	Linear    DriftModel = "linear"    // a straight line over the positions of a block
	Quadratic DriftModel = "quadratic" // a parabola over the positions of a block
	Curve     DriftModel = "curve"     // a parabola that bends otherwise in the first and the last third of a block
	Position  DriftModel = "position"  // any course over the positions, the same in all blocks
)

// degree is the number of drift terms that a block, or all blocks together, have.
func (d DriftModel) degree() int {
	switch d {
	case Linear:
		return 1
	case Quadratic:
		return 2
	case Curve:
		return loss.CurveDegree
	}
	return 0
}

// Spec says what is to be put in order. Treatments, Blocks and one of Replicates and Runs must be
// set; the zero value of every other field asks for nothing.
type Spec struct {
	Treatments int        `json:"treatments"`           // at least 2
	Blocks     int        `json:"blocks"`               // at least 1
	Replicates int        `json:"replicates,omitempty"` // runs of each treatment in each block: complete blocks
	Runs       int        `json:"runs,omitempty"`       // runs in a block: incomplete blocks
	Session    int        `json:"session,omitempty"`    // incomplete blocks in a session, in turn; 0: no sessions
	Drift      DriftModel `json:"drift,omitempty"`
	Own        bool       `json:"own,omitempty"` // each block has a drift of its own; false: one for all blocks

	// CarryOver asks that each treatment follow each other equally often, as nearly as it can be.
	CarryOver bool `json:"carry_over,omitempty"`

	// WholePlots holds, for each treatment, the number from 0 of its setting of the hard-to-change
	// factors. The runs of a setting stay together within a block. An incomplete block has as few
	// settings as hold its runs, and at least two, so that settings are compared within blocks.
	WholePlots []int `json:"whole_plots,omitempty"`

	// Effects holds, for each treatment, its row of the model that will be fitted, without the
	// constant: main effects of factors, say. Comparisons within its columns count, all alike. nil:
	// all comparisons between treatments.
	Effects [][]float64 `json:"effects,omitempty"`

	// Warmup is the number of runs of Baseline at the start of each block that are not analysed;
	// Reference holds the positions, counted from 0 and from the start of the block, warm-up runs
	// included, at which Baseline is run in every block besides its drawn runs.
	Warmup    int   `json:"warmup,omitempty"`
	Reference []int `json:"reference,omitempty"`
	Baseline  int   `json:"baseline,omitempty"` // a treatment
}

// runsPerBlock is n, the runs that are drawn.
func (p Spec) runsPerBlock() int {
	if p.Runs > 0 {
		return p.Runs
	}
	return p.Treatments * p.Replicates
}

// runs is N.
func (p Spec) runs() int { return p.Blocks * p.runsPerBlock() }

// driftTerms is the number of coefficients that describe drift in all blocks.
func (p Spec) driftTerms() int {
	switch {
	case p.Drift == Position:
		return p.runsPerBlock() - 1
	case !p.Own:
		return p.Drift.degree()
	}
	return p.Blocks * p.Drift.degree()
}

// plain reports whether the order of all positions is drawn and all comparisons count alike.
func (p Spec) plain() bool { return p.Effects == nil && len(p.Reference) == 0 }

// blocks is what is asked of the blocks.
func (p Spec) blocks() blocks.Spec {
	b := blocks.Spec{
		Treatments: p.Treatments, Blocks: p.Blocks, Runs: p.Runs, Replicates: p.Replicates, Session: p.Session,
		Effects: p.Effects, Plots: p.WholePlots,
	}
	drawn, _ := p.slots()
	for i, at := range drawn {
		b.Adjacent = append(b.Adjacent, i > 0 && at == drawn[i-1]+1)
	}
	return b
}

// model is what is fitted to the runs of blocks, whole plots apart.
func (p Spec) model() loss.Model {
	m := loss.Model{
		Treatments: p.Treatments, Runs: p.runsPerBlock(), Degree: p.Drift.degree(), Own: p.Own,
		Effects: p.Effects, Baseline: p.Baseline,
	}
	drawn, reference := p.slots()
	for _, at := range drawn {
		m.Drawn = append(m.Drawn, at-p.Warmup)
	}
	for _, at := range reference {
		m.Reference = append(m.Reference, at-p.Warmup)
	}
	return m
}

// driftColumns returns orthonormal columns that span the plan's drift within blocks.
func (p Spec) driftColumns(order [][]int) [][][]float64 {
	if p.Drift == Position {
		return loss.PositionColumns(order)
	}
	return loss.DriftColumns(p.Drift.degree(), p.Own, order)
}

// basis returns an orthonormal basis of the comparisons that count, T×side by rows; nil and T if all do.
func (p Spec) basis() (basis []float64, side int) {
	return information.Basis(p.Treatments, p.Effects)
}

// settings returns the treatments of each setting of the hard-to-change factors.
func (p Spec) settings() [][]int { return p.blocks().Settings() }

// plotsPerBlock returns the number of whole plots of a block, each of another setting.
func (p Spec) plotsPerBlock() int { return p.blocks().PlotsPerBlock() }
