package order

import (
	"fairrun/design/blocks"
	"fairrun/design/order/internal/loss"
)

// neighbours are blocks in which each treatment follows each other equally often, as nearly as can be:
// Williams squares and their like. Reference runs part neighbours; positions come first then.
type neighbours struct{ blockDesign }

func (k neighbours) checkKind() error { return k.withoutEffects() }
func (k neighbours) scope() Scope     { return Everything }

func (k neighbours) design(given [][]int) ([][]int, error) {
	if len(k.Reference) > 0 {
		return blocks.AroundReference(k.blocks(), given, k.Drift == Position)
	}
	return blocks.NeighbourBalanced(k.blocks(), given)
}

func (k neighbours) efficiency(s *stage, design []int32, order [][]int) (float64, error) {
	switch {
	case k.Drift == Position:
		return k.efficiencyOverPositions(order)
	case len(k.Reference) == 0:
		return k.defaults.efficiency(s, design, order)
	}
	// Names are exchanged, and reference runs are the baseline's in the drift.
	flat, err := k.flatten(order)
	if err != nil {
		return 0, err
	}
	g := loss.NewAnyBlocks(k.model(), flat)
	if g == nil {
		return 0, k.confounded()
	}
	return 1 / (1 + g.Loss(flat, g.Scratch())), nil
}

// NeighbourRange returns the least and the most often that a treatment comes directly after another
// within a block of the order, over all ordered pairs. Only runs that are drawn count: a
// reference run parts those on either side of it.
func (d *Drawn) NeighbourRange() (least, most int) {
	p := d.Whole()
	roles := p.Roles()
	follows := make([]int, p.Treatments*p.Treatments)
	for _, block := range d.Blocks {
		for i := 1; i < len(block); i++ {
			if roles[i] == RoleDrawn && roles[i-1] == RoleDrawn {
				follows[block[i-1]*p.Treatments+block[i]]++
			}
		}
	}
	least = d.Plan.runs() + len(d.Blocks)*len(roles)
	for i, n := range follows {
		if i/p.Treatments != i%p.Treatments {
			least, most = min(least, n), max(most, n)
		}
	}
	return least, most
}
