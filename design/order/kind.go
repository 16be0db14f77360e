package order

import (
	"math"

	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
)

// kind is a kind of order: the blocks that are put in order, what of them is drawn at random, how many
// orders that gives and how good one is. Spec.kind chooses it; nothing else asks which kind a plan is of.
// A stage that is passed holds the blocks.
type kind interface {
	// checkKind returns an *ImpossibleError if the kind does not go with the rest of the plan.
	checkKind() error
	// model is what is fitted to the runs.
	model() loss.Model
	// scope says what is kept within a threshold.
	scope() Scope

	// design returns the blocks that are put in order, of which the first ones are given.
	design(given [][]int) ([][]int, error)
	// searched reports whether there is a choice of the design. Its blocks then change places.
	searched() bool
	// within puts the runs of each block in order; nil: they stay as the design has them.
	within(s *stage) within
	// names says which treatments exchange their names.
	names() naming
	// stretch is the number of runs that change places together in all blocks alike, and within which
	// positions do; 0: positions stay.
	stretch(s *stage) int

	// orders returns the number of orders of so many blocks, allowed or not: at least so many where names,
	// blocks or positions are exchanged, which may give the same order in several ways.
	orders(s *stage, blocks int) lot.Count
	// listed reports whether Enumerate can go through all orders.
	listed() bool
	// coarsest returns the number of classes of the orders of whole plots of so many blocks, which comparisons
	// between them rest on; +Inf without whole plots.
	coarsest(s *stage, blocks int) float64
	// between returns the criterion of comparisons that are kept within a threshold of their own, or nil.
	between(s *stage) *loss.AnyBlocks

	// holds returns an error if an order is not of this kind.
	holds(flat []int32) error
	// efficiency is that of an order, and of the design that gave it.
	efficiency(s *stage, design []int32, order [][]int) (float64, error)
}

// kind returns the kind of order that is drawn for a plan.
func (p Spec) kind() kind {
	basic := defaults{p}
	design := blockDesign{basic}
	plots := plotDesign{design}
	switch {
	case p.WholePlots != nil && p.CarryOver:
		return plotNeighbours{plots}
	case p.WholePlots != nil && p.Drift == Position:
		return plotsOverPositions{plots}
	case p.WholePlots != nil && p.Runs > 0:
		return incompletePlots{plots}
	case p.CarryOver:
		return neighbours{design}
	case p.Drift == Position:
		return rowsAndColumns{design}
	case p.Runs > 0:
		return incompleteBlocks{design}
	case p.WholePlots != nil:
		return wholePlots{basic}
	}
	return completeBlocks{basic}
}

// defaults is what a kind is unless it says otherwise.
type defaults struct{ Spec }

func (k defaults) checkKind() error               { return nil }
func (k defaults) searched() bool                 { return false }
func (k defaults) names() naming                  { return naming{} }
func (k defaults) stretch(*stage) int             { return 0 }
func (k defaults) listed() bool                   { return false }
func (k defaults) coarsest(*stage, int) float64   { return math.Inf(1) }
func (k defaults) between(*stage) *loss.AnyBlocks { return nil }
func (k defaults) holds([]int32) error            { return nil }

func (k defaults) scope() Scope {
	if k.Drift.degree() == 0 {
		return Everything
	}
	return Campaign
}

func (k defaults) efficiency(s *stage, design []int32, _ [][]int) (float64, error) {
	return 1 / (1 + s.loss(design)), nil
}
