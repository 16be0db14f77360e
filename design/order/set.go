package order

import (
	"fmt"

	"fairrun/design/lot"
	"fairrun/design/order/internal/loss"
	"fairrun/stats/words"
)

// Set is the set of orders that a plan and its thresholds allow, each as likely as when they were drawn. It
// is not changed by use and may be shared between goroutines; a Sampler may not.
type Set struct {
	plan          Spec // of the first draw
	stages        []stage
	count         lot.Count
	plotThreshold *float64
	fold          *foldedSet // a second part; nil: there is none
}

// Set returns the set of orders that d was drawn from, from the record alone: nothing is chosen
// again. It returns an error if the record is of another Version, its plan is
// impossible, or its order is not one that it allows.
func (d *Drawn) Set() (*Set, error) {
	if d.Fold != nil {
		return d.foldedSet()
	}
	if d.Version != Version {
		return nil, fmt.Errorf("order: drawn by version %d of the generator; this is version %d", d.Version, Version)
	}
	if err := d.Plan.check(); err != nil {
		return nil, err
	}
	s := &Set{plan: d.Plan, count: d.Orders, plotThreshold: d.PlotThreshold}
	p := d.Plan
	for i := range len(d.Extensions) + 1 {
		from, candidates := 0, 0
		if i > 0 {
			e := d.Extensions[i-1]
			from, candidates = p.Blocks, e.Candidates
			p.Blocks += e.Blocks
			if e.Blocks < 1 || e.Candidates < 0 || e.Candidates > int(1/bestShare) || e.Candidates == 0 && p.kind().scope() == Campaign {
				return nil, fmt.Errorf("order: the record does not hold together: extension %d adds %s, the best of %d", i, words.Count(e.Blocks, "block"), e.Candidates)
			}
			s.count = lot.Count{}
		}
		design := d.Design
		if k := p.kind(); !k.searched() {
			var err error
			if design, err = k.design(nil); err != nil {
				return nil, err
			}
		}
		if err := p.checkDesign(design); err != nil {
			return nil, fmt.Errorf("order: the record does not hold together: %w", err)
		}
		stage, err := d.stage(p, from, design[:p.Blocks])
		if err != nil {
			return nil, err
		}
		stage.bestOf = candidates
		s.stages = append(s.stages, *stage)
	}
	if err := s.Allows(d.Blocks); err != nil {
		return nil, fmt.Errorf("order: the record does not hold together: %w", err)
	}
	m := s.Sampler(lot.New(0, lot.StreamProbe))
	m.exchange()
	for i := range s.stages {
		if !m.draw(i) {
			return nil, fmt.Errorf("order: the record does not hold together: the threshold %v allows almost no order", d.Threshold)
		}
	}
	return s, nil
}

// stage returns a stage that keeps within the thresholds of the record.
func (d *Drawn) stage(p Spec, from int, design [][]int) (*stage, error) {
	s, err := newStage(p, from, design)
	if err == nil {
		s.keep(d.Threshold)
		s.keepPlots(d.PlotThreshold)
	}
	return s, err
}

func (s *Set) last() *stage { return &s.stages[len(s.stages)-1] }

// checkDesign returns an error if design is not one of at least p.Blocks blocks of the plan.
func (p Spec) checkDesign(design [][]int) error {
	if len(design) < p.Blocks {
		return fmt.Errorf("the design has %s, the plan %d", words.Count(len(design), "block"), p.Blocks)
	}
	for b, block := range design {
		if len(block) != p.runsPerBlock() {
			return fmt.Errorf("block %d of the design has %s, the plan %d", b+1, words.Count(len(block), "run"), p.runsPerBlock())
		}
		for i, t := range block {
			if t < 0 || t >= p.Treatments {
				return fmt.Errorf("block %d of the design holds treatment %d at position %d; the plan has %d treatments", b+1, t, i+1, p.Treatments)
			}
		}
	}
	return nil
}

// Allows returns nil if the order, in the shape of Drawn.Blocks, belongs to the set and otherwise
// an error that says why not. For incomplete blocks, rows and columns and carry-over it looks at
// how often treatments occur and at the loss, not at whether the design is the set's with names
// exchanged.
func (s *Set) Allows(blocks [][]int) error {
	if s.fold != nil {
		rest, err := s.fold.allows(blocks)
		if err != nil {
			return err
		}
		blocks = rest
	}
	last := s.last()
	flat, err := last.plan.flatten(blocks)
	if err != nil {
		return err
	}
	if err := last.kind.holds(flat); err != nil {
		return err
	}
	for _, g := range s.stages {
		part := flat[:g.plan.runs()]
		unit := g.unit
		if g.kind.searched() {
			// The stage's own criterion has the names of its design.
			own := loss.NewAnyBlocks(g.kind.model(), part)
			if own == nil {
				return fmt.Errorf("no chain of blocks joins all treatments")
			}
			unit = own.Candidate()
		}
		w := unit.Scratch()
		for order := range g.units(part) {
			if g.scope != Everything && g.bestOf == 0 && !unit.Within(order, g.limit, w) {
				return fmt.Errorf("the loss of the order is above the threshold %v", g.threshold)
			}
		}
		if g.between != nil && g.bestOf == 0 && !g.between.Within(part, g.plotLimit, g.between.Scratch()) {
			return fmt.Errorf("the loss between whole plots is above their threshold %v", *s.plotThreshold)
		}
	}
	return nil
}

// flatten checks the shape of an order and returns its drawn runs.
func (p Spec) flatten(blocks [][]int) ([]int32, error) {
	if len(blocks) != p.Blocks {
		return nil, fmt.Errorf("order has %s, the plan %d", words.Count(len(blocks), "block"), p.Blocks)
	}
	roles := p.Roles()
	flat := make([]int32, 0, p.runs())
	for b, block := range blocks {
		if len(block) != len(roles) {
			return nil, fmt.Errorf("block %d has %s, the plan %d", b+1, words.Count(len(block), "run"), len(roles))
		}
		times := make([]int, p.Treatments)
		for i, t := range block {
			if t < 0 || t >= p.Treatments {
				return nil, fmt.Errorf("block %d position %d holds treatment %d; the plan has %d treatments", b+1, i+1, t, p.Treatments)
			}
			if roles[i] != RoleDrawn {
				if t != p.Baseline {
					return nil, fmt.Errorf("block %d position %d holds treatment %d, the plan the baseline, %d", b+1, i+1, t, p.Baseline)
				}
				continue
			}
			times[t]++
			flat = append(flat, int32(t))
		}
		for t, k := range times {
			if p.Runs == 0 && k != p.Replicates {
				return nil, fmt.Errorf("block %d holds treatment %d %d times, the plan %d", b+1, t, k, p.Replicates)
			}
		}
	}
	return flat, nil
}
