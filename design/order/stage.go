package order

import (
	"iter"

	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
)

// Scope says what has to keep within the threshold.
type Scope string

const (
	// Everything: all orders of the kind are allowed.
	Everything Scope = "everything"
	// Campaign: the loss of the whole campaign.
	Campaign Scope = "campaign"
	// EachBlock: the loss of each block on its own, which bounds that of the campaign. It is the rule
	// where each block drifts on its own and treatments are replicated within blocks,
	// since blocks that are good one by one are found far sooner than good
	// campaigns of unrestricted blocks: five treatments, three times in each of four
	// packs, lose 1.0 % to a line of each pack's own when blocks are kept one by one, 3.5 % when campaigns
	// are kept at the same acceptance, 8.5 % in random order.
	EachBlock Scope = "block"
)

// stage is the set of orders of the blocks that are drawn at one time: the first draw, or an
// extension, in which the campaign up to and including it counts.
type stage struct {
	plan  Spec // with all blocks up to here
	kind  kind
	from  int // first block of the stage
	scope Scope

	first []int32 // the design: blocks from 0 on, up to and including this stage, before any exchange

	whole loss.Criterion // of all blocks up to here
	unit  loss.Criterion // of what the threshold applies to: whole or one block
	each  int            // runs of the unit if it is one block, otherwise 0

	between   *loss.AnyBlocks // of comparisons between settings of whole plots that are judged by themselves, or nil
	plotLimit loss.Limit      // of their loss

	keptPlots float64 // classes of orders of whole plots that this allows, while the threshold is settled; 0: not known

	threshold float64
	limit     loss.Limit
	bestOf    int // candidates of which the best is taken, instead of those within the threshold; 0: none
}

// newStage returns the stage of the blocks of a plan from a given one on. The plan has been checked;
// design holds all its blocks. An error says that no order of it can be estimated.
func newStage(p Spec, from int, design [][]int) (*stage, error) {
	k := p.kind()
	m := k.model()
	s := &stage{plan: p, kind: k, from: from, scope: k.scope()}
	for _, block := range design {
		for _, t := range block {
			s.first = append(s.first, int32(t))
		}
	}
	if p.plain() && p.Runs == 0 && m.Plots == nil {
		s.whole = loss.NewCompleteBlocks(p.Treatments, p.Blocks, p.Replicates, p.Drift.degree(), p.Own)
		s.unit = s.whole
	} else {
		g := loss.NewAnyBlocks(m, s.first)
		if g == nil {
			return nil, p.confounded()
		}
		s.whole, s.unit = g, g.Candidate()
	}
	if s.scope == EachBlock {
		s.unit = loss.NewCompleteBlocks(p.Treatments, 1, p.Replicates, p.Drift.degree(), false)
		s.each = p.runsPerBlock()
	}
	return s, nil
}

func (s *stage) keep(threshold float64) {
	s.threshold, s.limit = threshold, loss.LimitAt(threshold, s.unit.Comparisons())
}

// units yields the parts of an order of all blocks up to here to which the stage's threshold applies.
func (s *stage) units(flat []int32) iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		if s.each == 0 {
			yield(flat)
			return
		}
		for at := s.from * s.each; at < len(flat); at += s.each {
			if !yield(flat[at : at+s.each]) {
				return
			}
		}
	}
}

// loss returns the loss of all blocks of an order up to this stage.
func (s *stage) loss(flat []int32) float64 { return s.whole.Loss(flat, s.whole.Scratch()) }

// allOrders returns the number of orders of so many blocks, allowed or not.
func (s *stage) allOrders(blocks int) lot.Count {
	c := s.kind.orders(s, blocks)
	if !s.kind.listed() {
		c = c.NotListed()
	}
	return c
}

// coarsest is that of the kind, or what is left of it by the threshold of whole plots.
func (s *stage) coarsest(blocks int) float64 {
	if s.keptPlots > 0 {
		return s.keptPlots
	}
	return s.kind.coarsest(s, blocks)
}
