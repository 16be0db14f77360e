package order

import (
	"fmt"
	"math"
	"slices"

	"fairrun/design/lot"
)

// Extension is the record of blocks added to an order.
type Extension struct {
	Seed       uint64 `json:"seed"`
	Blocks     int    `json:"blocks"`     // added
	Candidates int    `json:"candidates"` // of which the best was taken; 0: drawn as the first blocks were
}

// Extend adds blocks to an order and returns the longer order; the blocks of d stand in it
// unchanged and d is not written to. Blocks that are kept one by one are drawn as the first were.
// Where the loss of the campaign is what counts, that of all blocks together does: the new blocks
// are the best of bestOf candidates, whatever the earlier ones are like. Either way the Set of the
// result repeats the whole procedure, stage after stage, so that a randomisation test over it is
// exact. An order of two parts has each block added to the part that has fewer.
func Extend(d *Drawn, blocks int, seed uint64) (*Drawn, error) {
	if blocks < 1 {
		return nil, fmt.Errorf("order: an extension adds at least 1 block, not %d", blocks)
	}
	if d.Fold != nil {
		return d.extendFold(blocks, seed)
	}
	set, err := d.Set()
	if err != nil {
		return nil, err
	}
	p := set.last().plan
	from := p.Blocks
	p.Blocks += blocks
	if err := p.check(); err != nil {
		return nil, err
	}
	design, err := designFor(p, d.Design)
	if err != nil {
		return nil, err
	}
	s, err := d.stage(p, from, design)
	if err != nil {
		return nil, err
	}
	e := Extension{Seed: seed, Blocks: blocks}
	if s.scope == Campaign {
		e.Candidates = s.candidates()
		s.bestOf = e.Candidates
	}

	// Draw the earlier blocks again, which gives the names in force, and go on from there.
	longer := &Set{plan: d.Plan, plotThreshold: d.PlotThreshold, stages: append(slices.Clone(set.stages), *s)}
	m := longer.Sampler(lot.New(d.Seed, lot.StreamOrder))
	m.exchange()
	m.draw(0)
	out := *d
	out.Extensions = append(slices.Clone(d.Extensions), e)
	for i, e := range out.Extensions {
		m.src = lot.New(e.Seed, lot.StreamExtension)
		m.draw(i + 1)
	}
	if s.kind.searched() {
		out.Design = design
	}
	out.Orders = lot.Count{}
	out.Blocks = newBlocks(p)
	m.write(out.Blocks)
	for b, block := range d.Blocks {
		if !slices.Equal(block, out.Blocks[b]) {
			return nil, fmt.Errorf("order: block %d is not the one that seed %d draws; the order was changed by hand", b+1, d.Seed)
		}
	}
	if err := out.rate(m); err != nil {
		return nil, err
	}
	return &out, nil
}

// candidates returns how many candidates for the blocks of the stage are compared: as many as the
// best bestShare of orders is one of, and fewer where that would leave less than minClasses to draw
// from.
func (s *stage) candidates() int {
	added := s.plan.Blocks - s.from
	orders := math.Pow(10, min(18, s.allOrders(added).Log10))
	if s.between == nil { // otherwise the best are taken even of few orders of whole plots
		orders = min(orders, s.coarsest(added))
	}
	return max(1, min(int(1/bestShare), int(orders/minClasses)))
}
