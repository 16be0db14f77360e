package order

import (
	"errors"

	"fairrun/design/blocks"
	"fairrun/design/lot"
)

// Drawn is an order and the record of its draw. Written as JSON and read back, it gives the same
// Set.
type Drawn struct {
	Version int    `json:"version"`
	Seed    uint64 `json:"seed"`
	Plan    Spec   `json:"plan"`

	// Design holds the blocks that were put in order, names of treatments to be exchanged, where
	// there is a choice: for incomplete blocks, rows and columns, and carry-over.
	Design [][]int `json:"design,omitempty"`

	// Scope, Threshold, Acceptance and Orders say which orders were allowed: those whose loss, of the
	// campaign or of each block, is at most Threshold; the share of all orders that
	// Acceptance gives; Orders in number.
	Scope      Scope     `json:"scope"`
	Threshold  float64   `json:"threshold"`
	Acceptance float64   `json:"acceptance"`
	Orders     lot.Count `json:"orders"`

	// PlotThreshold, where it is given, is the same for the loss of comparisons between settings of
	// whole plots in complete blocks, which are judged by themselves.
	PlotThreshold *float64 `json:"plot_threshold,omitempty"`

	// Efficiency is the average variance of a comparison without drift over that with it, in this
	// order: 1 means that drift costs nothing.
	Efficiency float64 `json:"efficiency"`

	// BlockEfficiency is the average variance of a comparison if every block held every treatment,
	// over that with these blocks, for the same number of runs and no drift; BlockBound is what no
	// design can exceed. Both are 1 for complete blocks.
	BlockEfficiency float64 `json:"block_efficiency"`
	BlockBound      float64 `json:"block_bound"`

	// Blocks holds the index of the treatment at each position of each block, all runs included; Spec.Roles
	// says which are drawn.
	Blocks [][]int `json:"blocks"`

	Extensions []Extension `json:"extensions,omitempty"`

	// Fold, if not nil, is a second part with treatments of its own. Seed, Plan, Design, Scope,
	// Threshold, Acceptance and Extensions are then those of the first part; Blocks, the efficiencies
	// and Orders are of both.
	Fold *Fold `json:"fold,omitempty"`
}

// Draw draws an order for p. The same plan and seed give the same order. It returns an *ImpossibleError for
// a plan that no order can serve.
func Draw(p Spec, seed uint64) (*Drawn, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	design, err := designFor(p, nil)
	if err != nil {
		return nil, err
	}
	s, err := newStage(p, 0, design)
	if err != nil {
		return nil, err
	}
	r, err := s.choose(lot.New(seed, lot.StreamPilot))
	if err != nil {
		return nil, err
	}
	s.keep(r.threshold)
	set := &Set{plan: p, stages: []stage{*s}, count: r.orders, plotThreshold: r.plots}
	d := &Drawn{
		Version: Version, Seed: seed, Plan: p,
		Scope: s.scope, Threshold: r.threshold, PlotThreshold: r.plots, Acceptance: r.acceptance, Orders: r.orders,
		Blocks: newBlocks(p),
	}
	if s.kind.searched() {
		d.Design = design
	}
	m := set.Sampler(lot.New(seed, lot.StreamOrder))
	m.Fill(d.Blocks)
	if err := d.rate(m); err != nil {
		return nil, err
	}
	return d, nil
}

// rate sets what is known of the order that m has drawn.
func (d *Drawn) rate(m *Sampler) (err error) {
	s := m.set.last()
	d.BlockEfficiency, d.BlockBound = 1, 1
	if runs := s.plan.Runs; runs > 0 {
		rate := blocks.Efficiency
		if s.kind.model().Plots != nil {
			rate = blocks.EfficiencyInPlots
		}
		d.BlockEfficiency, d.BlockBound = rate(s.plan.blocks(), split(m.flat, runs))
	}
	d.Efficiency, err = s.kind.efficiency(s, m.flat, d.Blocks)
	return err
}

// newBlocks returns blocks for all positions of a plan.
func newBlocks(p Spec) [][]int {
	n := p.Length()
	runs := make([]int, p.Blocks*n)
	blocks := make([][]int, p.Blocks)
	for b := range blocks {
		blocks[b] = runs[b*n : (b+1)*n : (b+1)*n]
	}
	return blocks
}

// split cuts a flat order into blocks of n runs.
func split(flat []int32, n int) [][]int {
	blocks := make([][]int, len(flat)/n)
	for b := range blocks {
		blocks[b] = make([]int, n)
		for i, t := range flat[b*n : (b+1)*n] {
			blocks[b][i] = int(t)
		}
	}
	return blocks
}

// designFor returns the blocks that are put in order for a plan, of which the first ones are given.
func designFor(p Spec, given [][]int) ([][]int, error) {
	design, err := p.kind().design(given)
	var unconnected *blocks.UnconnectedError
	if errors.As(err, &unconnected) {
		return nil, p.impossible(func(q *Spec) { q.Blocks++ }, "%v", unconnected)
	}
	return design, err
}
