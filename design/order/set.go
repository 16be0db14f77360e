package order

import (
	"fmt"
	"iter"
)

// Scope says what has to keep within the threshold.
type Scope string

const (
	// Everything: no drift to keep out, all orders are allowed.
	Everything Scope = "everything"
	// Campaign: the loss of the whole campaign.
	Campaign Scope = "campaign"
	// EachBlock: the loss of each block on its own, which bounds that of the campaign. It is the rule
	// where each block drifts on its own and treatments are replicated within blocks,
	// since blocks that are good one by one are found far sooner than good
	// campaigns of unrestricted blocks.
	EachBlock Scope = "block"
)

// scope returns the rule for a plan.
func (p Plan) scope() Scope {
	switch {
	case p.Drift.degree() == 0:
		return Everything
	case !p.Shared && p.Blocks > 1 && p.Replicates > 1 && p.eachBlockEstimable():
		return EachBlock
	}
	return Campaign
}

// eachBlockEstimable reports whether a single block can tell the treatments from drift.
func (p Plan) eachBlockEstimable() bool {
	q := p
	q.Blocks = 1
	return q.checkEstimable() == nil
}

// Set is the set of orders that a plan and a threshold allow, each equally likely to be drawn. It
// is not changed by use and may be shared between goroutines; a Sampler may not.
type Set struct {
	plan  Plan
	scope Scope
	count Count

	whole     *criterion // of the campaign
	unit      *criterion // of what the threshold applies to: the campaign or one block
	threshold float64
	limit     limit
	first     []int32 // every block, sorted
}

// newSet returns the set of all orders of a plan that has been checked.
func newSet(p Plan) *Set {
	s := &Set{plan: p, scope: p.scope()}
	s.whole = newCriterion(p.Treatments, p.Blocks, p.Replicates, p.Drift, p.Shared)
	s.unit = s.whole
	if s.scope == EachBlock {
		s.unit = newCriterion(p.Treatments, 1, p.Replicates, p.Drift, true)
	}
	for range p.Blocks {
		for t := range p.Treatments {
			for range p.Replicates {
				s.first = append(s.first, int32(t))
			}
		}
	}
	return s
}

// keep sets the threshold, and the number of orders that it allows.
func (s *Set) keep(threshold float64, orders Count) {
	s.threshold, s.limit, s.count = threshold, s.unit.limit(threshold), orders
}

// Set returns the set of orders that d was drawn from, from the record alone: nothing is chosen
// anew. It returns an error if the record is of another Version, its plan is
// impossible, or its order is not one that it allows.
func (d *Drawn) Set() (*Set, error) {
	if d.Version != Version {
		return nil, fmt.Errorf("order: drawn by version %d of the generator; this is version %d", d.Version, Version)
	}
	if err := d.Plan.check(); err != nil {
		return nil, err
	}
	s := newSet(d.Plan)
	s.keep(d.Threshold, d.Orders)
	if err := s.Allows(d.Blocks); err != nil {
		return nil, fmt.Errorf("order: the record does not hold together: %w", err)
	}
	if !s.probe() {
		return nil, fmt.Errorf("order: the record does not hold together: its threshold %v allows almost no order", d.Threshold)
	}
	return s, nil
}

// probeLimit is the most candidates tried for one allowed order of a recorded set. Sets that Draw makes allow
// at least one candidate in 20.
const probeLimit = 20_000

// probe reports whether an allowed order turns up within probeLimit candidates.
func (s *Set) probe() bool {
	m := s.Sampler(NewSource(0, streamProbe))
	blocks := 1
	if s.scope == EachBlock {
		blocks = s.plan.Blocks
	}
	for range probeLimit {
		if m.candidate(0) {
			if blocks--; blocks == 0 {
				return true
			}
		}
	}
	return false
}

// Allows returns nil if the order belongs to the set and otherwise an error that says why not.
func (s *Set) Allows(blocks [][]int) error {
	p := s.plan
	if len(blocks) != p.Blocks {
		return fmt.Errorf("order has %s, the plan %d", count(len(blocks), "block"), p.Blocks)
	}
	flat := make([]int32, 0, len(s.first))
	for b, block := range blocks {
		if len(block) != p.runsPerBlock() {
			return fmt.Errorf("block %d has %s, the plan %d", b+1, count(len(block), "run"), p.runsPerBlock())
		}
		times := make([]int, p.Treatments)
		for i, t := range block {
			if t < 0 || t >= p.Treatments {
				return fmt.Errorf("block %d position %d holds treatment %d; the plan has %d treatments", b+1, i+1, t, p.Treatments)
			}
			times[t]++
			flat = append(flat, int32(t))
		}
		for t, k := range times {
			if k != p.Replicates {
				return fmt.Errorf("block %d holds treatment %d %d times, the plan %d", b+1, t, k, p.Replicates)
			}
		}
	}
	w := s.unit.scratch()
	for unit := range s.units(flat) {
		if !s.unit.within(unit, s.limit, w) {
			return fmt.Errorf("the loss of the order is above the threshold %v", s.threshold)
		}
	}
	return nil
}

// units yields the parts of an order to which the threshold applies.
func (s *Set) units(flat []int32) iter.Seq[[]int32] {
	size := s.unit.runs * s.unit.blocks
	return func(yield func([]int32) bool) {
		for len(flat) > 0 {
			if !yield(flat[:size]) {
				return
			}
			flat = flat[size:]
		}
	}
}

// Sampler draws from a Set. It belongs to one goroutine.
type Sampler struct {
	set  *Set
	src  *Source
	flat []int32
	work *scratch
}

// Sampler returns a sampler of the set that takes its random numbers from src.
func (s *Set) Sampler(src *Source) *Sampler {
	return &Sampler{set: s, src: src, flat: make([]int32, len(s.first)), work: s.unit.scratch()}
}

// Fill fills dst, of one row a block and one element a run, with an allowed order, each equally likely. It
// allocates nothing. It panics if dst has another shape.
func (m *Sampler) Fill(dst [][]int) {
	s := m.set
	n := s.plan.runsPerBlock()
	if len(dst) != s.plan.Blocks {
		panic(badShape)
	}
	size := s.unit.runs * s.unit.blocks
	for from := 0; from < len(m.flat); from += size {
		for !m.candidate(from) {
		}
	}
	for b, row := range dst {
		if len(row) != n {
			panic(badShape)
		}
		for i, t := range m.flat[b*n : (b+1)*n] {
			row[i] = int(t)
		}
	}
}

const badShape = "order: Fill needs one row for each block and one element for each run"

// candidate draws the unit that starts at run from anew and reports whether it is allowed.
func (m *Sampler) candidate(from int) bool {
	s := m.set
	size, n := s.unit.runs*s.unit.blocks, s.unit.runs
	unit := m.flat[from : from+size]
	copy(unit, s.first[from:from+size])
	for i := 0; i < size; i += n {
		Shuffle(m.src, unit[i:i+n])
	}
	return s.unit.within(unit, s.limit, m.work)
}
