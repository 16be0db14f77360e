package order

import (
	"cmp"

	"fairrun/design/blocks"
)

// plotsOverPositions are whole plots whose settings, and treatments within them, come in all positions as
// evenly as can be.
type plotsOverPositions struct{ plotDesign }

func (k plotsOverPositions) checkKind() error {
	return cmp.Or(k.withoutEffects(), k.plotDesign.checkKind())
}

func (k plotsOverPositions) design(given [][]int) ([][]int, error) {
	return blocks.WholePlotsOverPositions(k.blocks(), given)
}

// stretch is a whole plot, if all are of one length.
func (k plotsOverPositions) stretch(s *stage) int {
	all := k.plotLengths(s.first)
	for _, lengths := range all {
		for _, n := range lengths {
			if n != all[0][0] {
				return 0
			}
		}
	}
	return all[0][0]
}

func (k plotsOverPositions) efficiency(_ *stage, design []int32, _ [][]int) (float64, error) {
	return k.efficiencyOverPositions(design)
}
