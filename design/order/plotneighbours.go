package order

import (
	"cmp"

	"fairrun/design/blocks"
)

// plotNeighbours are complete blocks of whole plots in which each treatment follows each other equally
// often, as nearly as can be.
type plotNeighbours struct{ plotDesign }

func (k plotNeighbours) scope() Scope { return Everything }

func (k plotNeighbours) checkKind() error {
	if k.Runs > 0 {
		return k.impossible(func(q *Spec) { q.Runs, q.Replicates = 0, 1 },
			"neighbours of whole plots are balanced in complete blocks only: %d runs for %d treatments in each block", k.Runs, k.Treatments)
	}
	return cmp.Or(k.withoutEffects(), k.plotDesign.checkKind())
}

func (k plotNeighbours) design(given [][]int) ([][]int, error) {
	return blocks.WholePlotNeighbours(k.blocks(), given)
}

func (k plotNeighbours) efficiency(s *stage, design []int32, order [][]int) (float64, error) {
	if k.Drift == Position {
		return k.efficiencyOverPositions(design)
	}
	return k.plotDesign.efficiency(s, design, order)
}
